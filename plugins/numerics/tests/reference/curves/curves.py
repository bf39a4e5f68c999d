"""Response curves: quadratic, linear-plateau, quadratic-plateau with fixed block intercepts and without; optimum and CIs by delta, Fieller, profile likelihood.
Exact least squares by profiling the join point on a fine grid then Newton/golden section in 50-digit mpmath."""
import pandas as pd, mpmath as mp, json, os
mp.mp.dps=50
here=os.path.dirname(os.path.abspath(__file__)); d=pd.read_csv(here+"/sim_plateau.csv",dtype=str)
x=[mp.mpf(v) for v in d.buds]; y=[mp.mpf(v) for v in d.yield_kg]; bl=list(d.block); n=len(y); B=list(dict.fromkeys(bl))
def ols(X):
    A=mp.matrix(X); At=A.T; N_=At*A; r=mp.lu_solve(N_,At*mp.matrix(y)); e=[y[i]-sum(A[i,j]*r[j] for j in range(A.cols)) for i in range(n)]
    return list(r),sum(v*v for v in e),N_
def base(blocks): return [[mp.mpf(1)]*0+([mp.mpf(1) if bl[i]==b else mp.mpf(0) for b in B] if blocks else [mp.mpf(1)]) for i in range(n)]
def tq(df,p="0.975"):
    import scipy.stats as ss
    t=mp.mpf(ss.t.ppf(float(p),df)); df=mp.mpf(df); pdf=lambda t: mp.gamma((df+1)/2)/mp.sqrt(df*mp.pi)/mp.gamma(df/2)*(1+t*t/df)**(-(df+1)/2)
    cdf=lambda t: 1-mp.betainc(df/2,mp.mpf(1)/2,0,df/(df+t*t),regularized=True)/2
    for _ in range(6): t-=(cdf(t)-mp.mpf(p))/pdf(t)
    return t
S=lambda v: mp.nstr(v,18)
def rows(kind,x0,blocks):
    b=base(blocks); out=[]
    for i in range(n):
        if kind=="lp": out.append(b[i]+[min(x[i],x0)-x0])            # plateau intercept parameterisation: P + b (min(x,x0)-x0)
        if kind=="qp": out.append(b[i]+[-(min(x[i],x0)-x0)**2])      # P - c (x-x0)^2 below x0 ; c>0
    return out
def prof(kind,blocks):
    f=lambda x0: ols(rows(kind,x0,blocks))[1]
    g=[mp.mpf(v)/4 for v in range(44,358)]; v=[f(t) for t in g]
    loc=[(g[i-1],g[i+1]) for i in range(1,len(g)-1) if v[i]<=v[i-1] and v[i]<=v[i+1]]
    best=None
    for a,b in loc:
        phi=(mp.sqrt(5)-1)/2; c=b-phi*(b-a); e=a+phi*(b-a); fc,fe=f(c),f(e)
        for _ in range(115):
            if fc<fe: b,e,fe=e,c,fc; c=b-phi*(b-a); fc=f(c)
            else: a,c,fc=c,e,fe; e=a+phi*(b-a); fe=f(e)
        t=(a+b)/2
        if best is None or f(t)<best[1]: best=(t,f(t))
    return best,f,loc
res={}
for blocks in (False,True):
    nb=len(B) if blocks else 1; tag="blocks" if blocks else "noblocks"
    # quadratic
    Xq=[base(blocks)[i]+[x[i],x[i]**2] for i in range(n)]; r,rss,N_=ols(Xq); df=n-nb-2; s2=rss/df; C=N_**-1*s2; b1,b2=r[-2],r[-1]; k=len(r); V11,V22,V12=C[k-2,k-2],C[k-1,k-1],C[k-2,k-1]
    opt=-b1/(2*b2); g1,g2=-1/(2*b2),b1/(2*b2**2); se=mp.sqrt(g1*g1*V11+g2*g2*V22+2*g1*g2*V12); t=tq(df)
    # Fieller for rho=-b1/(2 b2): solve (b1+2 rho b2)^2 = t^2 (V11+4 rho V12+4 rho^2 V22)
    a_=4*(b2*b2-t*t*V22); b_=4*(b1*b2-t*t*V12); c_=b1*b1-t*t*V11; disc=b_*b_-4*a_*c_
    fl=[(-b_-mp.sqrt(disc))/(2*a_),(-b_+mp.sqrt(disc))/(2*a_)]
    ybar=(sum(r[:nb])/nb); mx=ybar-b1*b1/(4*b2)
    res[f"quadratic_{tag}"]=dict(coef=[S(v) for v in r],se=[S(mp.sqrt(C[i,i])) for i in range(k)],rss=S(rss),df=df,s2=S(s2),t975=S(t),optimum=S(opt),se_delta=S(se),ci_delta=[S(opt-t*se),S(opt+t*se)],ci_fieller=[S(min(fl)),S(max(fl))],fieller_g=S(t*t*V22/b2**2),y_at_optimum=S(mx))
    for kind in ("lp","qp"):
        (x0,rss),f,loc=prof(kind,blocks); r,_,_=ols(rows(kind,x0,blocks)); df=n-nb-2; s2=rss/df; P=sum(r[:nb])/nb; c=r[-1]
        # Jacobian for asymptotic SEs in (intercepts..., slope/curv, x0)
        J=[]
        for i in range(n):
            u=min(x[i],x0)-x0
            J.append(rows(kind,x0,blocks)[i]+[(-c if x[i]<x0 else 0) if kind=="lp" else (2*c*u if x[i]<x0 else 0)])
        Jm=mp.matrix(J); C=(Jm.T*Jm)**-1*s2; se=mp.sqrt(C[len(r),len(r)]); t=tq(df)
        # profile-F 95% CI for x0
        thr=rss*(1+t*t/df)
        def cross(dirn):
            a=x0; st=mp.mpf(dirn)/4; lim=400
            while f(a+st)<thr and lim>0 and 10.5<a+st<89.9: a+=st; lim-=1
            if not(10.5<a+st<89.9): return None
            lo,hi=a,a+st
            for _ in range(120):
                m=(lo+hi)/2
                if f(m)<thr: lo=m
                else: hi=m
            return S((lo+hi)/2)
        o=dict(x0=S(x0),rss=S(rss),df=df,s2=S(s2),intercept_plateaus=[S(v) for v in r[:nb]],mean_plateau=S(P),shape=S(c),se_x0_wald=S(se),ci_wald=[S(x0-t*se),S(x0+t*se)],ci_profile=[cross(-1),cross(1)],local_minima=[[S(a),S(b)] for a,b in loc])
        if kind=="lp": o.update(param="y=P_block + b*(min(x,x0)-x0)",slope=S(c),a_mean=S(P-c*x0))
        else: o.update(param="y=P_block - c*(min(x,x0)-x0)^2 ; standard a+b x+q x^2 has q=-c, b=2 c x0, a=P-c x0^2",b=S(2*c*x0),q=S(-c),a_mean=S(P-c*x0**2))
        res[f"{kind}_{tag}"]=o
for k in res:
    rss=mp.mpf(res[k]["rss"]); p=(4 if "noblocks" in k and "quad" not in k else None)
    npar=(n-res[k]["df"])+1; ll=-mp.mpf(n)/2*(mp.log(2*mp.pi)+mp.log(rss/n)+1); res[k]["logLik_ml"]=S(ll); res[k]["AIC"]=S(-2*ll+2*npar); res[k]["AICc"]=S(-2*ll+2*npar+mp.mpf(2*npar*(npar+1))/(n-npar-1)); res[k]["BIC"]=S(-2*ll+mp.log(n)*npar); res[k]["n_par_incl_sigma"]=npar
json.dump(res,open(here+"/curves.json","w"),indent=1)
for k,v in res.items(): print(k,{a:v[a] for a in v if a in("x0","optimum","rss","df","se_x0_wald","se_delta","ci_wald","ci_delta","ci_fieller","ci_profile","AICc","local_minima")})
