"""Fixed-block GLS references for the perennial set : CS, AR(1), heterogeneous AR(1)/CS, unstructured."""
from fits import *
want_all='un' not in sys.argv
for tag in ("","_missing"):
    d=rdd(f"perennial{tag}.csv"); c=dict(block=list(d.block),treatment=list(d.treatment),year=list(d.year)); lev={k:sorted(uniq(v)) for k,v in c.items()}; tm=[("block",),("treatment",),("year",),("treatment","year")]
    y=list(d.yield_kg);pl=list(d["plot"]);tt=[int(v) for v in d.year];n=len(y); ys=sorted(set(tt))
    if want_all: run(f"perennial{tag}_gls_cs",y,c,tm,lev,LinV([groupG(pl),idG(n)]),["0.34","0.5"],["plot","residual"],tests=False)
    if want_all: run(f"perennial{tag}_gls_ar1",y,c,tm,lev,ar1V(pl,tt),["0.9","0.65"],["sigma2","rho"],tests=False)
    if want_all: run(f"perennial{tag}_gls_ar1het",y,c,tm,lev,hetV(pl,tt,"ar1"),["0.8"]*6+["0.65"],[f"var_{t}" for t in ys]+["rho"],tests=False)
    if want_all: run(f"perennial{tag}_gls_cshet",y,c,tm,lev,hetV(pl,tt,"cs"),["0.8"]*6+["0.45"],[f"var_{t}" for t in ys]+["rho"],tests=False)
    V,idx=unV(pl,tt); f=run(f"perennial{tag}_gls_un",y,c,tm,lev,V,[str(round(0.85*0.65**abs(a-b),4)) for a,b in idx],[f"cov_{ys[a]}_{ys[b]}" for a,b in idx],tests=False)
