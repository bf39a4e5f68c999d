"""One difference at several sites, summed up: sites.json for the tests of `sites`.

The estimates are worked out at 40 digits (mpmath 1.x) from the formulas, written apart from the
program under test, and checked here with general-purpose libraries: scipy climbs the same restricted
likelihood; statsmodels gives Q, I-squared, the weights and the Hartung-Knapp error where the variance
between sites is that of DerSimonian and Laird, for which the same functions are used.

tuberculosis: 13 trials of a vaccine (Colditz et al. 1994, JAMA 271:698, Table 2), log risk ratios. Its
estimates by restricted maximum likelihood are published by Viechtbauer (2010, J. Stat. Softw. 36(3),
section 3): variance 0.3132, mean -0.7145 with standard error 0.1798, Q 152.2330 on 12 df.
The other sets are made up.
"""
import json, os
import numpy as np
from mpmath import mp, mpf, log, sqrt, findroot, betainc, gammainc, nstr, fsum

mp.dps = 40
HERE = os.path.dirname(os.path.abspath(__file__))

# Cases and those without the illness, vaccinated and not.
TABLE = [
    (4, 119, 11, 128), (6, 300, 29, 274), (3, 228, 11, 209), (62, 13536, 248, 12619),
    (33, 5036, 47, 5761), (180, 1361, 372, 1079), (8, 2537, 10, 619), (505, 87886, 499, 87892),
    (29, 7470, 45, 7232), (17, 1699, 65, 1600), (186, 50448, 141, 27197), (5, 2493, 3, 2338),
    (27, 16886, 29, 17825),
]
tuberculosis = [
    (log(mpf(a) / (a + b)) - log(mpf(c) / (c + d)),
     sqrt(mpf(1) / a - mpf(1) / (a + b) + mpf(1) / c - mpf(1) / (c + d)))
    for a, b, c, d in TABLE
]
text = lambda pairs: [(mpf(y), mpf(s)) for y, s in pairs]
SETS = {
    "tuberculosis": tuberculosis,
    "two_sites": text([("0.42", "0.21"), ("1.13", "0.30")]),
    "three_sites_that_agree": text([("1.20", "0.35"), ("1.05", "0.28"), ("1.31", "0.50")]),
    "three_sites": text([("1.20", "0.15"), ("0.35", "0.28"), ("2.10", "0.40")]),
    "five_sites_of_unlike_size": text([
        ("-0.80", "0.10"), ("-0.15", "0.55"), ("-1.90", "0.70"), ("-0.60", "0.22"), ("0.30", "0.35"),
    ]),
    "large_numbers": text([("10500.5", "21.0"), ("10611.25", "30.5"), ("10560", "17.75"), ("10480", "40")]),
}

def weighed(sites, v):
    w = [1 / (s * s + v) for _, s in sites]
    total = fsum(w)
    mean = fsum(a * y for a, (y, _) in zip(w, sites)) / total
    return w, total, mean, fsum(a * (y - mean) ** 2 for a, (y, _) in zip(w, sites))

def likelihood(sites, v):
    w, total, _, squares = weighed(sites, v)
    return fsum(log(a) for a in w) - log(total) - squares

def slope(sites, v):
    w, total, mean, _ = weighed(sites, v)
    return fsum(a * a * (y - mean) ** 2 - a + a * a / total for a, (y, _) in zip(w, sites))

def reml(sites):
    top = max(s for _, s in sites) ** 2 + (max(y for y, _ in sites) - min(y for y, _ in sites)) ** 2
    grid = [mpf(0)] + [top * mpf(10) ** (mpf(k) / 20 - 8) for k in range(0, 181)]
    best = mpf(0)
    for low, high in zip(grid, grid[1:]):
        if slope(sites, low) > 0 >= slope(sites, high):
            root = findroot(lambda v: slope(sites, v), (low, high), solver="anderson", tol=1e-60, verify=False)
            if likelihood(sites, root) > likelihood(sites, best):
                best = root
    return best

def t_two_sided(t, df):
    return betainc(mpf(df) / 2, mpf(1) / 2, 0, df / (df + t * t), regularized=True)

def t_critical(alpha, df):
    from scipy.stats import t as student
    start = mpf(float(student.ppf(1 - float(alpha) / 2, int(df))))
    return findroot(lambda t: log(t_two_sided(t, df)) - log(alpha), start)

found = {}
for name, sites in SETS.items():
    k = len(sites)
    v = reml(sites)
    w, total, mean, squares = weighed(sites, v)
    q = squares / (k - 1)
    error = sqrt(max(q, 1) / total)
    t = t_critical(mpf("0.05"), k - 1)
    fixed = weighed(sites, 0)
    record = {
        "values": [nstr(y, 20) for y, _ in sites], "errors": [nstr(s, 20) for _, s in sites],
        "between": nstr(v, 18), "mean": nstr(mean, 18), "scatter": nstr(q, 18),
        "error_as_known": nstr(1 / sqrt(total), 18), "error": nstr(error, 18),
        "low": nstr(mean - t * error, 18), "high": nstr(mean + t * error, 18),
        "p": nstr(t_two_sided(mean / error, k - 1), 18),
        "q": nstr(fixed[3], 18), "q_p": nstr(gammainc(mpf(k - 1) / 2, fixed[3] / 2, regularized=True), 18),
        "share": nstr(max(0, 1 - (k - 1) / fixed[3]), 18),
    }
    if k > 2:
        reach = t_critical(mpf("0.05"), k - 2) * sqrt(v + error ** 2)
        record["expected"] = [nstr(mean - reach, 18), nstr(mean + reach, 18)]
    found[name] = record

    # scipy climbs the same hill.
    from scipy.optimize import minimize_scalar
    scale = float(max(s for _, s in sites) ** 2 + (max(y for y, _ in sites) - min(y for y, _ in sites)) ** 2)
    climbed = minimize_scalar(lambda x: -float(likelihood(sites, mpf(x))), bounds=(0, scale), method="bounded",
                              options={"xatol": 1e-10 * scale})
    assert abs(climbed.x - float(v)) < 1e-6 * scale, (name, climbed.x, v)
    # The library's own variance between sites, its error by Hartung and Knapp, its Q and I-squared.
    from statsmodels.stats.meta_analysis import combine_effects
    seen = combine_effects(np.array([float(y) for y, _ in sites]), np.array([float(s) ** 2 for _, s in sites]),
                           method_re="dl", use_t=True)
    close = lambda a, b: abs(float(a) - float(b)) <= 1e-9 * max(1, abs(float(b)))
    if seen.tau2 > 0:  # the library leaves a negative one as it is
        w, total, mean, squares = weighed(sites, mpf(seen.tau2))
        assert close(mean, seen.mean_effect_re) and close(sqrt(squares / (k - 1) / total), seen.sd_eff_w_re_hksj)
    assert close(fixed[3], seen.q) and close(max(0, 1 - (k - 1) / fixed[3]), max(0, seen.i2)), (name, seen.i2)
    print(name, record["between"], record["mean"], record["error"], record["scatter"])

# How far a difference moved between two independent trials: degrees of freedom of Satterthwaite.
moves = []
from scipy.stats import ttest_ind_from_stats
for (a, s, n), (b, u, m) in [
    (("0.90", "0.21", 12), ("1.45", "0.34", 8)),
    (("-3.2", "0.55", 21), ("-2.9", "0.16", 6)),
    (("120.5", "4.25", 3), ("98.0", "11.5", 30)),
]:
    a, s, b, u = mpf(a), mpf(s), mpf(b), mpf(u)
    error = sqrt(s * s + u * u)
    df = error ** 4 / (s ** 4 / n + u ** 4 / m)
    t = (b - a) / error
    half = findroot(lambda x: log(t_two_sided(x, df)) - log(mpf("0.05")), mpf(2.1))
    moves.append({"first": [nstr(a, 17), nstr(s, 17), n], "second": [nstr(b, 17), nstr(u, 17), m],
                  "value": nstr(b - a, 18), "error": nstr(error, 18), "df": nstr(df, 18),
                  "low": nstr(b - a - half * error, 18), "high": nstr(b - a + half * error, 18),
                  "p": nstr(t_two_sided(t, df), 18)})
    # Samples of n + 1 and m + 1 with these standard errors of their means.
    seen = ttest_ind_from_stats(float(b), float(u) * (m + 1) ** 0.5, m + 1, float(a), float(s) * (n + 1) ** 0.5,
                                n + 1, equal_var=False)
    assert abs(seen.pvalue / float(t_two_sided(t, df)) - 1) < 1e-9
found["moves"] = moves
json.dump(found, open(os.path.join(HERE, "sites.json"), "w"), indent=1)
