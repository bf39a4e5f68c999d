"""Power profiles at 40 digits, written apart from the program under test (mpmath 1.4.1, scipy 1.17.1).

poisons.csv holds the survival times of animals under 3 poisons and 4 treatments, 4 in each cell, of
Box & Cox (1964, J. R. Stat. Soc. B 26:211, Table 1); their analysis of variance of the untransformed
times (poisons 1.0330, treatments 0.9212, both 0.2501, error 0.8007) is met below.

For each model the error sum of squares of (y^k - 1)/(k g^(k-1)) comes from cell and margin means;
maximum and limits of -df/2 ln S are roots found to 30 digits. The model 'mean only' is also
maximised by scipy.stats.boxcox, which must agree."""
import csv, json, os
from mpmath import mp, mpf, log, exp, diff, findroot, quad, sqrt, fsum

mp.dps = 40
HERE = os.path.dirname(os.path.abspath(__file__))
rows = list(csv.DictReader(open(os.path.join(HERE, "poisons.csv"))))
times = [mpf(r["time"]) for r in rows]
n = len(times)
geometric = exp(fsum(log(t) for t in times) / n)


def scaled(k):
    if k == 0:
        return [geometric * log(t) for t in times]
    return [(t**k - 1) / (k * geometric ** (k - 1)) for t in times]


def margin(values, *names):
    groups = {}
    for r, v in zip(rows, values):
        groups.setdefault(tuple(r[x] for x in names), []).append(v)
    means = {k: fsum(v) / len(v) for k, v in groups.items()}
    return [means[tuple(r[x] for x in names)] for r in rows]


def squares(values):
    return fsum(v * v for v in values)


def error(model, values):
    if model == "mean only":
        fitted = margin(values)
    elif model == "cells":
        fitted = margin(values, "poison", "treatment")
    else:
        parts = zip(margin(values, "poison"), margin(values, "treatment"), margin(values))
        fitted = [a + b - c for a, b, c in parts]
    return squares([v - f for v, f in zip(values, fitted)])


def between(values, *names):
    whole = margin(values)
    return squares([a - b for a, b in zip(margin(values, *names), whole)])


assert abs(between(times, "poison") - mpf("1.0330")) < 5e-5
assert abs(between(times, "treatment") - mpf("0.9212")) < 5e-5
assert abs(error("cells", times) - mpf("0.8007")) < 6e-5
joint = between(times, "poison", "treatment") - between(times, "poison") - between(times, "treatment")
assert abs(joint - mpf("0.2501")) < 5e-5

# Upper 5 % point of chi-square with one degree of freedom: the root of erfc(sqrt(x/2)) = 0.05.
point = findroot(lambda x: mp.erfc(sqrt(x / 2)) - mpf("0.05"), mpf("3.84"))
found = {"geometric_mean": geometric, "point": point, "models": {}}
for model, df in [("mean only", n), ("additive", 42), ("cells", 36), ("cells", n)]:
    height = lambda k: -mpf(df) / 2 * log(error(model, scaled(k)))
    best = findroot(lambda k: diff(height, k), mpf("-0.7"))
    floor = height(best) - point / 2
    low = findroot(lambda k: height(k) - floor, (best - 1, best - mpf("0.1")), solver="anderson")
    high = findroot(lambda k: height(k) - floor, (best + mpf("0.1"), best + 1), solver="anderson")
    found["models"][f"{model}, {df}"] = {
        "df": df, "best": best, "low": low, "high": high,
        "squares": {k: error(model, scaled(mpf(k))) for k in ["-1", "0", "0.5", "1"]},
    }

# F of poisons, treatments and both on the scale of -1/y.
rates = [-1 / t for t in times]
poison, treatment = between(rates, "poison"), between(rates, "treatment")
both = between(rates, "poison", "treatment") - poison - treatment
mean_square = error("cells", rates) / 36
found["reciprocal_F"] = {
    "poison": poison / 2 / mean_square,
    "treatment": treatment / 3 / mean_square,
    "both": both / 6 / mean_square,
}

try:
    from scipy import stats
    _, k, ends = stats.boxcox([float(t) for t in times], alpha=0.05)
    mine = found["models"][f"mean only, {n}"]
    # scipy maximises by Brent's method with a tolerance of about 1e-8.
    assert abs(k - mine["best"]) < 1e-6, (k, mine["best"])
    assert abs(ends[0] - mine["low"]) < 1e-8 and abs(ends[1] - mine["high"]) < 1e-8, ends
    print("scipy agrees:", k, ends)
except ImportError:
    print("scipy is not installed: its check of 'mean only' was left out")

# Mean of values whose logarithm, or root, is normal with mean m and variance v, by quadrature.
m, v = mpf("0.7"), mpf("0.09")
normal = lambda x: exp(-((x - m) ** 2) / (2 * v)) / sqrt(2 * mp.pi * v)
ends = [m - 14 * sqrt(v), m, m + 14 * sqrt(v)]
found["mean_of_values"] = {
    "m": m, "v": v,
    "log": quad(lambda x: exp(x) * normal(x), ends),
    "root": quad(lambda x: x * x * normal(x), ends),
}


def text(value):
    if isinstance(value, dict):
        return {k: text(v) for k, v in value.items()}
    return value if isinstance(value, (int, str)) else mp.nstr(value, 20)


json.dump(text(found), open(os.path.join(HERE, "transform.json"), "w"), indent=1)
