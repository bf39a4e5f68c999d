"""Fits with an error variance for each treatment: the covariance over seasons times lambda_g, lambda
of the first treatment (variety) being 1. Writes *_by_treatment.json as fits.py does."""
from fits import *


def grouped(plain, labels, first):
    """V of `plain` (its own parameters, the first `first` of them of random terms) with its error part
    times one more parameter for each label but the first."""
    names = sorted(uniq(labels))
    n = len(labels)

    def in_group(X, g):
        z = arb(0)
        return arb_mat([[X[i, j] if labels[i] == names[g] else z for j in range(n)] for i in range(n)])

    def f(th):
        q0 = len(th) - (len(names) - 1)
        base, lam = th[:q0], [arb(1)] + list(th[q0:])
        _, G, H = plain(base)
        V0, _, _ = plain([arb(0)] * first + list(base[first:]))
        blocks = V0 * 0
        for g, t in zip(G[:first], base[:first]):
            blocks = blocks + g * t
        scale = [lam[names.index(l)] for l in labels]
        rows = lambda X: arb_mat([[X[i, j] * scale[i] for j in range(n)] for i in range(n)])
        q = len(th)
        out = [[None] * q for _ in range(q)]
        if H is not None:
            for i in range(q0):
                for j in range(q0):
                    if H[i][j] is not None:
                        out[i][j] = rows(H[i][j])
        first_d = [g for g in G[:first]] + [rows(g) for g in G[first:q0]]
        for k in range(1, len(names)):
            first_d.append(in_group(V0, k))
            for i in range(first, q0):
                out[i][q0 + k - 1] = out[q0 + k - 1][i] = in_group(G[i], k)
        return blocks + rows(V0), first_d, out

    return f


if __name__ == "__main__":
    import itertools

    d = rdd("oats.csv")
    c = dict(V=list(d.Variety), N=list(d.nitro))
    lev = dict(V=["Golden Rain", "Marvellous", "Victory"], N=uniq(d.nitro))
    V = grouped(LinV([groupG(list(d.Block)), groupG(inter(d.Block, d.Variety)), idG(72)]), c["V"], 2)
    pairs = [(["V"], dict(V="Golden Rain"), dict(V="Victory")), (["V", "N"], dict(V="Victory", N=lev["N"][0]), dict(V="Marvellous", N=lev["N"][3]))]
    run("oats_by_treatment", list(d["yield"]), c, [("V",), ("N",), ("V", "N")], lev, V, [200, 100, 170, 1, 1], ["block", "wholeplot", "residual", "ratio_Marvellous", "ratio_Victory"], [(["V"], dict(V=l)) for l in lev["V"]], pairs)
    for tag, form in (("", "ar1"), ("_missing", "cs")):
        d = rdd(f"perennial{tag}.csv")
        labels = list(d.treatment)
        c = dict(treatment=labels, year=list(d.year))
        s = sorted(uniq(labels))
        lev = dict(treatment=s, year=sorted(uniq(d.year)))
        pl, bl, tt, n = list(d["plot"]), list(d.block), [int(v) for v in d.year], len(d)
        tm = [("treatment",), ("year",), ("treatment", "year")]
        ratios = [f"ratio_{l}" for l in s[1:]]
        if form == "ar1":
            plain, start, names = ar1V(pl, tt, bl), ["0.08", "0.9", "0.65"], ["block", "sigma2", "rho"]
        else:
            plain, start, names = LinV([groupG(bl), groupG(pl), idG(n)]), ["0.1", "0.34", "0.5"], ["block", "plot", "residual"]
        pairs = [(["treatment"], dict(treatment=a), dict(treatment=b)) for a, b in itertools.combinations(s, 2)]
        run(f"perennial{tag}_{form}_by_treatment", list(d.yield_kg), c, tm, lev, grouped(plain, labels, 1), start + ["1"] * (len(s) - 1), names + ratios, [(["treatment"], dict(treatment=l)) for l in s], pairs)
