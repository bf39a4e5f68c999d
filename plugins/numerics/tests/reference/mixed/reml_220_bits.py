"""High-precision dense REML by Newton-Raphson in ball arithmetic (python-flint arb, 200 bits):
variance parameters, REML log-likelihood (n-p constant, no log|X'X| term),
fixed effects, observed/expected information, Satterthwaite and Kenward-Roger ddf/F.
V(theta) is given by a callback with first and second derivatives, so CS, AR(1), heterogeneous are all possible."""
from flint import arb, arb_mat, ctx
import mpmath as mp, numpy as np
ctx.prec=220; mp.mp.dps=50
A=lambda x: x if isinstance(x,arb) else arb(str(x)) if isinstance(x,(str,)) else arb(x)
def M(rows): return arb_mat([[A(v) for v in r] for r in rows])
def mid(x): 
    return mp.mpf(x.mid().str(45,radius=False))
def fl(x): return mp.nstr(mid(x),18)
def tr(X):
    s=arb(0)
    for i in range(X.nrows()): s+=X[i,i]
    return s
def trprod(X,Y):  # tr(XY)
    Yt=Y.transpose(); s=arb(0); a=X.entries(); b=Yt.entries()
    for u,v in zip(a,b): s+=u*v
    return s
def strip(X): return arb_mat(X.nrows(),X.ncols(),[e.mid() for e in X.entries()])
def eye(n): return arb_mat([[arb(1 if i==j else 0) for j in range(n)] for i in range(n)])
class LinV:
    def __init__(s,G): s.G=G; s.q=len(G)
    def __call__(s,th):
        V=s.G[0]*th[0]
        for g,t in zip(s.G[1:],th[1:]): V=V+g*t
        return V,s.G,None
def groupG(labels):
    n=len(labels); return M([[1 if labels[i]==labels[j] else 0 for j in range(n)] for i in range(n)])
def idG(n): return M([[1 if i==j else 0 for j in range(n)] for i in range(n)])
def det_log(V):
    d=V.det(); return d.log()
def reml(y,X,Vf,th0,iters=60,tol=mp.mpf(10)**-38,verbose=False,ml=False):
    n=len(y); Y=M([[v] for v in y]); Xm=M(X) if not isinstance(X,arb_mat) else X; p=Xm.ncols(); Xt=Xm.transpose()
    th=[A(t) for t in th0]; q=len(th)
    lastll=None
    def parts(th):
        V,G,H=Vf(th); np.linalg.cholesky(np.array([float(e.mid()) for e in V.entries()]).reshape(n,n)); Vi=strip(V.inv()); XtVi=Xt*Vi; Phi=strip((XtVi*Xm).inv()); P=strip(Vi-(XtVi.transpose())*Phi*XtVi); Py=P*Y
        ll=-(arb(n if ml else n-p)*(2*arb.pi()).log()+V.det().log()+(arb(0) if ml else (XtVi*Xm).det().log())+(Y.transpose()*Py)[0,0])/2
        return V,G,H,Vi,XtVi,Phi,P,Py,ll
    for it in range(iters):
        V,G,H,Vi,XtVi,Phi,P,Py,ll=parts(th)
        Rm=Vi if ml else P
        RG=[strip(Rm*g) for g in G]; GPy=[g*Py for g in G]; PGPy=[P*g for g in GPy]
        s=[(-(tr(RG[i]))+(Py.transpose()*GPy[i])[0,0])/2 for i in range(q)]
        Hs=[[None]*q for _ in range(q)];E=[[None]*q for _ in range(q)]
        for i in range(q):
            for j in range(i,q):
                t=trprod(RG[i],RG[j]); u=(GPy[i].transpose()*PGPy[j])[0,0]
                h=-t/2+u   # negative Hessian
                if H is not None and H[i][j] is not None:
                    h+= trprod(Rm,H[i][j])/2-(Py.transpose()*(H[i][j]*Py))[0,0]/2
                Hs[i][j]=Hs[j][i]=h.mid(); E[i][j]=E[j][i]=(t/2).mid()
        S=arb_mat([[a.mid()] for a in s])
        # robust step: observed info if PD else expected
        Hm=arb_mat(Hs);Em=arb_mat(E)
        def pd(Mx):
            return all(arb_mat([[Mx[a,b] for b in range(k)] for a in range(k)]).det()>0 for k in range(1,q+1))
        use=Hm if pd(Hm) else Em
        step=use.inv()*S; f=arb(1); 
        for _ in range(40):
            nt=[(th[i]+f*step[i,0]).mid() for i in range(q)]
            try:
                ll2=parts(nt)[-1]
                if ll2.is_finite() and mid(ll2)>=mid(ll)-mp.mpf(10)**-40: break
            except Exception: pass
            f=f/2
        rel=max(abs(mid(nt[i]-th[i]))/max(abs(mid(nt[i])),mp.mpf(10)**-12) for i in range(q)); th=nt
        if verbose: print(it,[fl(t) for t in th],mp.nstr(mid(ll),15),mp.nstr(rel,5))
        if rel<tol: break
    V,G,H,Vi,XtVi,Phi,P,Py,ll=parts(th)
    beta=Phi*(XtVi*Y)
    return dict(th=th,ll=ll,beta=beta,Phi=Phi,Vi=Vi,P=P,G=G,H=H,X=Xm,XtVi=XtVi,obs=Hm,exp=Em,n=n,p=p,q=q,score=s,iters=it+1)
def kr_parts(f,info="expected"):
    q=f["q"];X=f["X"];Vi=f["Vi"];G=f["G"];Phi=f["Phi"];Xt=X.transpose()
    ViX=Vi*X; GV=[g*ViX for g in G]
    Pm=[-(ViX.transpose()*GV[i]) for i in range(q)]
    Qm=[[GV[i].transpose()*Vi*GV[j] for j in range(q)] for i in range(q)]
    Rm=[[None]*q for _ in range(q)]
    if f["H"] is not None:
        for i in range(q):
            for j in range(q):
                h=f["H"][min(i,j)][max(i,j)]
                if h is not None: Rm[i][j]=ViX.transpose()*h*ViX
    I=f["exp"] if info=="expected" else f["obs"]
    W=I.inv()
    Lam=None
    U=None
    for i in range(q):
        for j in range(q):
            T=Qm[i][j]-Pm[i]*Phi*Pm[j]
            if Rm[i][j] is not None: T=T-Rm[i][j]*(arb(1)/4)
            T=T*W[i,j]; U=T if U is None else U+T
    Phia=Phi+Phi*U*Phi*2
    return Pm,W,strip(Phia)
def pF(F,a,b): 
    F=mid(F) if isinstance(F,arb) else mp.mpf(F); a=mp.mpf(a);b=mid(b) if isinstance(b,arb) else mp.mpf(b)
    if F<=0: return mp.mpf(1)
    return mp.betainc(b/2,a/2,0,b/(b+a*F),regularized=True)
def kr_test(f,L,info="expected"):
    """Kenward & Roger (1997) scaled F for H0: L beta = 0; L is l x p"""
    Pm,W,Phia=kr_parts(f,info); q=f["q"];Phi=f["Phi"]
    Lm=M(L); l=Lm.nrows(); Lt=Lm.transpose()
    Th=Lt*(Lm*Phi*Lt).inv()*Lm
    A1=arb(0);A2=arb(0)
    TP=[Th*Phi*Pm[i]*Phi for i in range(q)]
    for i in range(q):
        for j in range(q):
            A1+=W[i,j]*tr(TP[i])*tr(TP[j]); A2+=W[i,j]*tr(TP[i]*TP[j])
    B=(A1+6*A2)/(2*l); g=((l+1)*A1-(l+4)*A2)/((l+2)*A2)
    den=3*l+2*(1-g); c1=g/den; c2=(l-g)/den; c3=(l+2-g)/den
    D=(1-A2/l).mid(); V0=(1+c1*B).mid();V1=(1-c2*B).mid();V2=(1-c3*B).mid()
    eps=arb(10)**-35; zero=lambda x: bool(abs(x)<eps)
    # removable singularities: ddf=4 gives V2=0, ddf=2 gives D=V1=0 (use ratio 1) and lambda 0/0 -> 1
    ratio=arb(1) if zero(D) and zero(V1) else D/V1
    m=(4+(l+2)*V2/(ratio*ratio*V0-V2)).mid()
    lam=arb(1) if zero(m-2) and zero(D) else m*D/(m-2)
    b=Lm*f["beta"]; 
    Fu=(b.transpose()*(Lm*Phia*Lt).inv()*b)[0,0]/l
    Fs=lam*Fu
    return dict(ndf=l,ddf=fl(m),F_scaled=fl(Fs),F_unscaled=fl(Fu),lam=fl(lam),p=mp.nstr(pF(Fs,l,m),18),A1=fl(A1),A2=fl(A2))
def satt_one(f,L,info="observed"):
    """Satterthwaite df for a single contrast row L: 2 v^2 / (g' A g)"""
    q=f["q"];Phi=f["Phi"]; ViX=f["Vi"]*f["X"]; Lm=M([L]); Lt=Lm.transpose()
    I=f["exp"] if info=="expected" else f["obs"]; W=I.inv()
    v=(Lm*Phi*Lt)[0,0]; g=[(Lm*Phi*(ViX.transpose()*f["G"][i]*ViX)*Phi*Lt)[0,0] for i in range(q)]
    s=arb(0)
    for i in range(q):
        for j in range(q): s+=g[i]*g[j]*W[i,j]
    return v,2*v*v/s
def satt_test(f,L,info="observed"):
    """Fai & Cornelius: eigen-decompose L Phi L', Satterthwaite each, then match E(F)"""
    Lm=M(L);l=Lm.nrows();C=Lm*f["Phi"]*Lm.transpose()
    mC=mp.matrix(l,l)
    for i in range(l):
        for j in range(l): mC[i,j]=(mid(C[i,j])+mid(C[j,i]))/2
    if l==1: ev=[mC[0,0]];Pv=mp.matrix([[1]])
    else:
        ev,Pv=mp.eigsy(mC)
    nus=[];Q=mp.mpf(0)
    bl=Lm*f["beta"]
    for m in range(l):
        row=[sum(Pv[k,m]*mid(Lm[k,j]) for k in range(l)) for j in range(Lm.ncols())]
        v,nu=satt_one(f,[A(mp.nstr(x,45)) for x in row],info); nus.append(mid(nu))
        e=sum(Pv[k,m]*mid(bl[k,0]) for k in range(l)); Q+=e*e/ev[m]
    if l==1: dd=nus[0]
    else:
        E=sum(x/(x-2) for x in nus if x>2); dd=2*E/(E-l)
        if max(nus)-min(nus)<mp.mpf(10)**-25*max(nus): dd=nus[0]
    F=Q/l
    return dict(ndf=l,ddf=mp.nstr(dd,18),F=mp.nstr(F,18),p=mp.nstr(pF(F,l,dd),18),nus=[mp.nstr(x,15) for x in nus])
def est(f,L,info_kr="expected"):
    """estimate, SE (REML), Satterthwaite df; KR-adjusted SE and ddf"""
    Lm=M([L]); b=(Lm*f["beta"])[0,0]; v,nu=satt_one(f,L)
    k=kr_test(f,[L],info_kr); Phia=kr_parts(f,info_kr)[2]; va=(Lm*Phia*Lm.transpose())[0,0]
    return dict(estimate=fl(b),se=fl(v.sqrt()),df_satt=fl(nu),se_kr=fl(va.sqrt()),df_kr=k["ddf"])
