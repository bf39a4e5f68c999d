"""Boundary case: whole-plot variance 0 kept in the covariance structure versus dropped."""
from fits import *; 
d=rdd("splitsplit_boundary.csv"); c=dict(A=list(d.irrigation),B=list(d.buds),C=list(d.thinning)); lev={k:uniq(v) for k,v in c.items()}; tm=[("A",),("B",),("C",),("A","B"),("A","C"),("B","C"),("A","B","C")]
y=list(d["yield"]); X,names,grp=dummies(c,tm,lev)
G=[groupG(list(d.block)),groupG(inter(d.block,d.irrigation)),groupG(inter(d.block,d.irrigation,d.buds)),idG(48)]
f=reml(y,X,LinV([G[0],G[2],G[3]]),["0.5","0.15","0.1"])
th=[f["th"][0],arb(0),f["th"][1],f["th"][2]]; Gs=G; V,_,_=LinV(Gs)(th); Vi=f["Vi"]; P=f["P"]; q=4
RG=[strip(P*g) for g in Gs]; E=[[(trprod(RG[i],RG[j])/2).mid() for j in range(q)] for i in range(q)]
Y=M([[v] for v in y]); Py=P*Y; sc=[fl((-(tr(RG[i]))+(Py.transpose()*(Gs[i]*Py))[0,0])/2) for i in range(q)]
f2=dict(f,th=th,G=Gs,q=4,exp=arb_mat(E),obs=arb_mat(E))
T3=marginal_L(tm,lev,names,grp); o=dict(variance_parameters=dict(block=fl(th[0]),wholeplot="0",subplot=fl(th[2]),residual=fl(th[3])),score_at_boundary=dict(zip(["block","wholeplot","subplot","residual"],sc)),reml_loglik=fl(f["ll"]),kr_component_kept={t:kr_test(f2,Lm(r)) for t,r in T3.items()},kr_component_dropped={t:kr_test(f,Lm(r)) for t,r in T3.items()})
# unconstrained (negative) estimates = ANOVA estimates
json.dump(o,open(f"{here}/splitsplit_boundary_kept.json","w"),indent=1); print({t:(v["F_scaled"],v["ddf"],v["p"]) for t,v in o["kr_component_kept"].items()}, o["score_at_boundary"])
# unconstrained REML: allow negative wholeplot component (start at the ANOVA values)
f3=reml(y,X,LinV(G),["0.5895302777","-0.03018","0.17306","0.100225"]); print([fl(t) for t in f3["th"]],fl(f3["ll"]),{t:(kr_test(f3,Lm(r))["F_scaled"],kr_test(f3,Lm(r))["ddf"]) for t,r in list(T3.items())[:2]})
o["unconstrained"]=dict(variance_parameters=dict(zip(["block","wholeplot","subplot","residual"],[fl(t) for t in f3["th"]])),reml_loglik=fl(f3["ll"]),kr={t:kr_test(f3,Lm(r)) for t,r in T3.items()}); json.dump(o,open(f"{here}/splitsplit_boundary_kept.json","w"),indent=1)
