"""Welch's (1951, Biometrika 38:330) test of equal means for the groups of assumptions.json, at 40
digits (mpmath 1.4.1) and checked with scipy 1.17.1, written apart from the program under test."""
import json, os
from mpmath import mp, mpf, betainc, fsum, nstr

mp.dps = 40
HERE = os.path.dirname(os.path.abspath(__file__))
sets = json.load(open(os.path.join(HERE, "assumptions.json")))["brown_forsythe"]
found = {}
for name, one in sets.items():
    groups = [[mpf(repr(v)) for v in g] for g in one["groups"]]
    k = len(groups)
    centre = [fsum(g) / len(g) for g in groups]
    weight = [
        len(g) * (len(g) - 1) / fsum((v - c) ** 2 for v in g) for g, c in zip(groups, centre)
    ]
    total = fsum(weight)
    middle = fsum(w * c for w, c in zip(weight, centre)) / total
    lam = fsum((1 - w / total) ** 2 / (len(g) - 1) for w, g in zip(weight, groups))
    f = fsum(w * (c - middle) ** 2 for w, c in zip(weight, centre)) / (k - 1)
    f /= 1 + 2 * (k - 2) * lam / (k * k - 1)
    df = (k * k - 1) / (3 * lam)
    p = betainc(df / 2, mpf(k - 1) / 2, 0, df / (df + (k - 1) * f), regularized=True)
    found[name] = {"F": nstr(f, 18), "df": nstr(df, 18), "p": nstr(p, 18)}
    try:
        from scipy import stats
        seen = stats.f_oneway(*one["groups"], equal_var=False)
        assert abs(seen.statistic / f - 1) < 1e-10 and abs(seen.pvalue / p - 1) < 1e-8, name
        print("scipy agrees:", name)
    except ImportError:
        print("scipy is not installed: its check was left out")
json.dump(found, open(os.path.join(HERE, "welch.json"), "w"), indent=1)
