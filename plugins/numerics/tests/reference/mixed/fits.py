"""Fits of reml_220_bits.py on the data sets of this folder: writes <case>.json (18 significant digits). Factor levels in the order given; the first level of each factor has no column."""
import pandas as pd, json, os, sys, time
from reml_220_bits import *
here=os.path.dirname(os.path.abspath(__file__)); pass
def rdd(f): return pd.read_csv(f"{here}/{f}",dtype=str,keep_default_na=False)
def dummies(cols,terms,lev):
    """cols: dict factor->list of labels. terms: list of tuples of factors. Returns X columns, names, groups (term index)"""
    n=len(next(iter(cols.values()))); X=[[ "1" for _ in range(n)]];names=["(Intercept)"];grp=[-1]
    for ti,t in enumerate(terms):
        import itertools
        for combo in itertools.product(*[lev[f][1:] for f in t]):
            X.append(["1" if all(cols[f][i]==c for f,c in zip(t,combo)) else "0" for i in range(n)]); names.append(":".join(f+c for f,c in zip(t,combo))); grp.append(ti)
    return [list(r) for r in zip(*X)],names,grp
def marginal_L(terms,lev,names,grp):
    """marginal hypothesis matrices for a full factorial in treatment coding:
    L rows = contrasts of equally weighted cell means"""
    import itertools
    facs=list(dict.fromkeys(f for t in terms for f in t))
    def cellrow(levs): # levs: dict f->level ; returns row over columns
        row=[]
        for nme,g in zip(names,grp):
            if g==-1: row.append(Fr(1)); continue
            t=terms[g]; lv=combos[nme]; row.append(Fr(1) if all(levs[f]==c for f,c in zip(t,lv)) else Fr(0))
        return row
    combos={}
    for ti,t in enumerate(terms):
        for combo in itertools.product(*[lev[f][1:] for f in t]): combos[":".join(f+c for f,c in zip(t,combo))]=combo
    out={}
    for t in terms:
        rows=[]
        others=[f for f in facs if f not in t]
        for combo in itertools.product(*[lev[f][1:] for f in t]):
            acc=[Fr(0)]*len(names)
            # contrast (level - first) in each factor of t
            for signs in itertools.product([0,1],repeat=len(t)):
                sgn=Fr(1)
                lv={}
                for f,c,s in zip(t,combo,signs): lv[f]=c if s else lev[f][0]; sgn*= 1 if s else -1
                oc=list(itertools.product(*[lev[f] for f in others])) 
                for o in oc:
                    lv2=dict(lv,**dict(zip(others,o))); r=cellrow(lv2); acc=[a+sgn*b/len(oc) for a,b in zip(acc,r)]
            rows.append(acc)
        out[":".join(t)]=rows
    return out
from fractions import Fraction as Fr
def fr(x): return arb(x.numerator)/arb(x.denominator)
def Lm(rows): return [[fr(v) for v in r] for r in rows]
def emm_L(terms,lev,names,grp,over,where):
    import itertools
    facs=list(dict.fromkeys(f for t in terms for f in t)); others=[f for f in facs if f not in over]
    combos={}
    for ti,t in enumerate(terms):
        for combo in itertools.product(*[lev[f][1:] for f in t]): combos[":".join(f+c for f,c in zip(t,combo))]=(t,combo)
    acc=[Fr(0)]*len(names); oc=list(itertools.product(*[lev[f] for f in others]))
    for o in oc:
        lv=dict(zip(others,o)); lv.update(where)
        for j,nme in enumerate(names):
            if nme=="(Intercept)": acc[j]+=Fr(1,len(oc)); continue
            t,c=combos[nme]
            if all(lv[f]==x for f,x in zip(t,c)): acc[j]+=Fr(1,len(oc))
    return acc
def run(case,y,cols,terms,lev,Vf,th0,thn,emms=(),pairs=(),desc="",exclude_from_emm=(),tests=True):
    t0=time.time(); X,names,grp=dummies(cols,terms,lev); f=reml(y,X,Vf,th0)
    o=dict(case=case,n=len(y),p=len(names),variance_parameters=dict(zip(thn,[fl(t) for t in f["th"]])),reml_loglik=fl(f["ll"]),beta=dict(zip(names,[fl(f["beta"][i,0]) for i in range(len(names))])),se_beta=dict(zip(names,[fl(f["Phi"][i,i].sqrt()) for i in range(len(names))])),
      max_abs_score=mp.nstr(max(abs(mid(s)) for s in f["score"]),3),iterations=f["iters"],
      observed_information=[[fl(f["obs"][i,j]) for j in range(f["q"])] for i in range(f["q"])],expected_information=[[fl(f["exp"][i,j]) for j in range(f["q"])] for i in range(f["q"])])
    if tests:
        T3=marginal_L(terms,lev,names,grp); o["tests"]={}
        for t,rows in T3.items():
            L=Lm(rows); o["tests"][t]=dict(kenward_roger=kr_test(f,L),satterthwaite=satt_test(f,L))
            if f["H"] is not None: o["tests"][t]["kenward_roger_firstorder_no_R_term"]=kr_test(dict(f,H=None),L)
    o["emmeans"]=[]
    for over,where in emms:
        r=emm_L(terms,lev,names,grp,over,where); o["emmeans"].append(dict(at=where,**est(f,Lm([r])[0])))
    o["differences"]=[]
    for over,w1,w2 in pairs:
        r1=emm_L(terms,lev,names,grp,over,w1);r2=emm_L(terms,lev,names,grp,over,w2); o["differences"].append(dict(a=w1,b=w2,**est(f,Lm([[a-b for a,b in zip(r1,r2)]])[0])))
        if f["H"] is not None:
            e1=est(dict(f,H=None),Lm([[a-b for a,b in zip(r1,r2)]])[0]); o["differences"][-1].update(se_kr_firstorder=e1["se_kr"],df_kr_firstorder=e1["df_kr"])
    
    json.dump(o,open(f"{here}/{case}.json","w"),indent=1); print(case,o["variance_parameters"],o["reml_loglik"],"score",o["max_abs_score"],"it",o["iterations"],{k:(v["kenward_roger"]["F_scaled"][:10],v["kenward_roger"]["ddf"][:9],v["satterthwaite"]["ddf"][:9]) for k,v in o.get("tests",{}).items()},flush=True)
    return f
def inter(*a): return ["|".join(z) for z in zip(*a)]
def uniq(x): return list(dict.fromkeys(x))
def ar1V(plots,times,blocks=None,extra=()):
    """params: [block var] + extra variances + [s2, rho]"""
    n=len(plots); nb=1 if blocks is not None else 0
    fixedG=([groupG(blocks)] if blocks is not None else [])+[groupG(e) for e in extra]
    h=[[abs(times[i]-times[j]) if plots[i]==plots[j] else None for j in range(n)] for i in range(n)]
    def f(th):
        s2,rho=th[-2],th[-1]; mx=max(v for r in h for v in r if v is not None)
        pw=[rho**k for k in range(mx+1)]; d1=[arb(0)]+[k*rho**(k-1) for k in range(1,mx+1)]; d2=[arb(0),arb(0)]+[k*(k-1)*rho**(k-2) for k in range(2,mx+1)]
        z=arb(0); mk=lambda tab: arb_mat([[tab[v] if v is not None else z for v in r] for r in h])
        R=mk(pw);D1=mk(d1);D2=mk(d2); V=R*s2
        for g,t in zip(fixedG,th[:-2]): V=V+g*t
        q=len(th); H=[[None]*q for _ in range(q)]; H[q-1][q-1]=D2*s2; H[q-2][q-1]=D1;H[q-1][q-2]=D1
        return V,fixedG+[R,D1*s2],H
    return f
def hetV(plots,times,kind,blocks=None):
    """params: [block] + v_1..v_T + rho ; V_ij = sqrt(v_i v_j) rho^{|h|} (ar1) or rho (cs)"""
    n=len(plots); T=sorted(set(times)); K=len(T); fixedG=[groupG(blocks)] if blocks is not None else []; nb=len(fixedG)
    same=[[plots[i]==plots[j] for j in range(n)] for i in range(n)]; ti=[T.index(t) for t in times]
    def f(th):
        v=th[nb:nb+K];rho=th[-1];sd=[x.sqrt() for x in v]; z=arb(0)
        def ex(i,j): return 0 if i==j else (1 if kind=="cs" else abs(T[i]-T[j]))
        q=len(th)
        C=[[sd[a]*sd[b]*rho**ex(a,b) for b in range(K)] for a in range(K)]
        def expand(M_): return arb_mat([[M_[ti[i]][ti[j]] if same[i][j] else z for j in range(n)] for i in range(n)])
        def dv(k): return [[C[a][b]*((1 if a==k else 0)+(1 if b==k else 0))/(2*v[k]) for b in range(K)] for a in range(K)]
        def dr(Mx): return [[Mx[a][b]*ex(a,b)/rho for b in range(K)] for a in range(K)]
        def drr(): return [[C[a][b]*ex(a,b)*(ex(a,b)-1)/(rho*rho) for b in range(K)] for a in range(K)]
        def dvv(k,l):
            out=[]
            for a in range(K):
                r=[]
                for b in range(K):
                    ck=(1 if a==k else 0)+(1 if b==k else 0); cl=(1 if a==l else 0)+(1 if b==l else 0)
                    if k==l: r.append(C[a][b]*(arb(ck)/2)*(arb(ck)/2-1)/(v[k]*v[k]))
                    else: r.append(C[a][b]*(arb(ck)/2)*(arb(cl)/2)/(v[k]*v[l]))
                out.append(r)
            return out
        V=expand(C)
        for g,t in zip(fixedG,th[:nb]): V=V+g*t
        G=fixedG+[expand(dv(k)) for k in range(K)]+[expand(dr(C))]
        H=[[None]*q for _ in range(q)]
        for k in range(K):
            for l in range(k,K): H[nb+k][nb+l]=H[nb+l][nb+k]=expand(dvv(k,l))
            H[nb+k][q-1]=H[q-1][nb+k]=expand(dr(dv(k)))
        H[q-1][q-1]=expand(drr())
        return V,G,H
    return f
def unV(plots,times):
    n=len(plots);T=sorted(set(times));K=len(T);ti=[T.index(t) for t in times]; idx=[(a,b) for a in range(K) for b in range(a,K)]
    G=[M([[1 if plots[i]==plots[j] and {ti[i],ti[j]}=={a,b} else 0 for j in range(n)] for i in range(n)]) for a,b in idx]
    return LinV(G),idx
if __name__=="__main__":
    which=sys.argv[1:]
    def want(c): return not which or c in which
    import itertools
    if want("kiwishade"):
        d=rdd("kiwishade.csv"); c=dict(shade=list(d.shade)); lev=dict(shade=["none","Aug2Dec","Dec2Feb","Feb2May"])
        V=LinV([groupG(list(d.block)),groupG(inter(d.block,d.shade)),idG(48)]); s=lev["shade"]
        run("kiwishade",list(d["yield"]),c,[("shade",)],lev,V,[4,2,12],["block","plot","vine"],[(["shade"],dict(shade=l)) for l in s],[(["shade"],dict(shade=a),dict(shade=b)) for a,b in itertools.combinations(s,2)])
    if want("oats"):
        d=rdd("oats.csv"); c=dict(V=list(d.Variety),N=list(d.nitro)); lev=dict(V=["Golden Rain","Marvellous","Victory"],N=uniq(d.nitro))
        V=LinV([groupG(list(d.Block)),groupG(inter(d.Block,d.Variety)),idG(72)])
        e=[(["V"],dict(V=a)) for a in lev["V"]]+[(["N"],dict(N=a)) for a in lev["N"]]+[(["V","N"],dict(V=a,N=b)) for a in lev["V"] for b in lev["N"]]
        p=[(["V"],dict(V="Golden Rain"),dict(V="Victory")),(["N"],dict(N=lev["N"][0]),dict(N=lev["N"][1])),(["V","N"],dict(V="Victory",N=lev["N"][0]),dict(V="Victory",N=lev["N"][3])),(["V","N"],dict(V="Victory",N=lev["N"][0]),dict(V="Marvellous",N=lev["N"][0])),(["V","N"],dict(V="Victory",N=lev["N"][0]),dict(V="Marvellous",N=lev["N"][3]))]
        run("oats",list(d["yield"]),c,[("V",),("N",),("V","N")],lev,V,[200,100,170],["block","wholeplot","residual"],e,p)
    if want("rcbd_missing"):
        d=rdd("rcbd_missing.csv"); c=dict(treatment=list(d.treatment)); s=["T1","T2","T3","T4","T5"];lev=dict(treatment=s)
        V=LinV([groupG(list(d.block)),idG(len(d))])
        run("rcbd_missing_block_random",list(d.yield_kg),c,[("treatment",)],lev,V,["0.1","0.1"],["block","residual"],[(["treatment"],dict(treatment=l)) for l in s],[(["treatment"],dict(treatment=a),dict(treatment=b)) for a,b in itertools.combinations(s,2)])
    if want("perennial"):
        for tag in ("","_missing"):
            d=rdd(f"perennial{tag}.csv"); c=dict(treatment=list(d.treatment),year=list(d.year)); lev=dict(treatment=uniq(sorted(d.treatment)),year=sorted(uniq(d.year))); tm=[("treatment",),("year",),("treatment","year")]
            y=list(d.yield_kg); pl=list(d["plot"]); bl=list(d.block); tt=[int(v) for v in d.year]; n=len(y)
            s=lev["treatment"]; e=[(["treatment"],dict(treatment=l)) for l in s]; p=[(["treatment"],dict(treatment=a),dict(treatment=b)) for a,b in itertools.combinations(s,2)]+[(["treatment","year"],dict(treatment=s[0],year="2021"),dict(treatment=s[3],year="2021")),(["treatment","year"],dict(treatment=s[3],year="2016"),dict(treatment=s[3],year="2021"))]
            run(f"perennial{tag}_cs",y,c,tm,lev,LinV([groupG(bl),groupG(pl),idG(n)]),["0.1","0.34","0.5"],["block","plot","residual"],e,p)
            run(f"perennial{tag}_ar1",y,c,tm,lev,ar1V(pl,tt,bl),["0.08","0.9","0.65"],["block","sigma2","rho"],e,p)
            run(f"perennial{tag}_ar1_plot",y,c,tm,lev,ar1V(pl,tt,bl,[pl]),["0.08","0.1","0.8","0.6"],["block","plot","sigma2","rho"],e,p)
            run(f"perennial{tag}_ar1het",y,c,tm,lev,hetV(pl,tt,"ar1",bl),["0.08"]+["0.8"]*6+["0.65"],["block"]+[f"var_{t}" for t in sorted(set(tt))]+["rho"],e,p)
            run(f"perennial{tag}_cshet",y,c,tm,lev,hetV(pl,tt,"cs",bl),["0.08"]+["0.8"]*6+["0.45"],["block"]+[f"var_{t}" for t in sorted(set(tt))]+["rho"],e,p)
    if want("splitsplit"):
        for tag,cs in (("2","splitsplit"),("","splitsplit_boundary")):
            d=rdd(cs+".csv"); c=dict(A=list(d.irrigation),B=list(d.buds),C=list(d.thinning)); lev={k:uniq(v) for k,v in c.items()}; tm=[("A",),("B",),("C",),("A","B"),("A","C"),("B","C"),("A","B","C")]
            G=[groupG(list(d.block)),groupG(inter(d.block,d.irrigation)),groupG(inter(d.block,d.irrigation,d.buds)),idG(48)]; nm=["block","wholeplot","subplot","residual"]; th=["0.5","0.15","0.15","0.1"]
            if tag=="": G.pop(1);nm.pop(1);th.pop(1)
            run(cs,list(d["yield"]),c,tm,lev,LinV(G),th,nm)
    if want("strip"):
        d=rdd("stripplot.csv"); c=dict(A=list(d.prune),B=list(d.soil)); lev={k:uniq(v) for k,v in c.items()}
        run("stripplot_sim",list(d["yield"]),c,[("A",),("B",),("A","B")],lev,LinV([groupG(list(d.block)),groupG(inter(d.block,d.prune)),groupG(inter(d.block,d.soil)),idG(60)]),["0.4","0.2","0.2","0.1"],["block","block_A","block_B","residual"])
        d=rdd("assay.csv"); c=dict(A=list(d["sample"]),B=list(d.dilut)); lev={k:uniq(v) for k,v in c.items()}
        run("stripplot_assay",list(d["logDens"]),c,[("A",),("B",),("A","B")],lev,LinV([groupG(list(d.Block)),groupG(inter(d.Block,d["sample"])),groupG(inter(d.Block,d.dilut)),idG(60)]),["0.0001","0.0006","0.0001","0.0017"],["block","block_A","block_B","residual"])
    if want("antigua"):
        d=rdd("antigua.csv"); d=d[d.harvwt!=""]; c=dict(trt=list(d.trt)); lev=dict(trt=sorted(uniq(d.trt)))
        run("antigua",list(d.harvwt),c,[("trt",)],lev,LinV([groupG(list(d.site)),groupG(inter(d.site,d.block)),groupG(inter(d.site,d.trt)),idG(len(d))]),["2","0.06","0.19","0.75"],["site","site_block","site_trt","residual"],[(["trt"],dict(trt=l)) for l in lev["trt"]],[(["trt"],dict(trt="0"),dict(trt="111")),(["trt"],dict(trt="0"),dict(trt="2"))])
