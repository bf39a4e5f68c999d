"""Tails of F, t, chi-square and the normal distribution from their closed integrals, 60 digits.

Writes distribution_tails.csv beside itself: kind, statistic, df1, df2, upper (two-sided for t,
the lower tail for the normal).
"""
import csv, os
import mpmath as mp

mp.mp.dps = 60
half = mp.mpf("0.5")


def f_upper(f, a, b):
    f, a, b = map(mp.mpf, (f, a, b))
    return mp.betainc(b / 2, a / 2, 0, b / (b + a * f), regularized=True)


rows = []
for f in ("0.01", "0.3", "1", "2.5", "7", "40", "1500"):
    for a in ("1", "2", "3", "7", "28"):
        for b in ("1", "2", "4.5", "10", "30.23", "45", "200", "5000"):
            p = f_upper(f, a, b)
            if p > mp.mpf(10) ** -250:
                rows.append(("F", f, a, b, p))
for t in ("0.001", "0.5", "1.96", "4", "12", "60"):
    for b in ("1", "2.7", "5", "12", "33", "240", "100000"):
        p = f_upper(mp.mpf(t) ** 2, 1, b)
        if p > mp.mpf(10) ** -250:
            rows.append(("t", t, "", b, p))
for x in ("0.1", "1", "3.84", "12", "60", "400"):
    for k in ("1", "2", "3.5", "8", "50", "300"):
        p = mp.gammainc(mp.mpf(k) / 2, mp.mpf(x) / 2, mp.inf, regularized=True)
        if p > mp.mpf(10) ** -250:
            rows.append(("chi-square", x, k, "", p))
for z in ("-37", "-20", "-8.3", "-5", "-1.96", "-0.7", "-0.01", "0.3", "1.5", "4"):
    rows.append(("normal", z, "", "", mp.erfc(-mp.mpf(z) / mp.sqrt(2)) / 2))

here = os.path.dirname(os.path.abspath(__file__))
with open(os.path.join(here, "distribution_tails.csv"), "w", newline="") as out:
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(("kind", "statistic", "df1", "df2", "tail"))
    for *head, p in rows:
        writer.writerow((*head, mp.nstr(p, 20)))
