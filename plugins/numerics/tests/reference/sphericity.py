#!/usr/bin/env python3
"""Sphericity of repeated seasons in mixed/perennial.csv, by least squares and projections.

Written apart from the program: the error covariance over seasons comes from regressing the plots by
seasons table on dummy columns, contrasts are orthogonal polynomials (the program uses Helmert's).
    python3 sphericity.py > sphericity.json      (numpy, scipy)
"""
import csv
import json
import math

import numpy as np
from scipy.stats import chi2, f as f_dist

rows = list(csv.DictReader(open("mixed/perennial.csv")))
season = "season" if "season" in rows[0] else "year"
plots = sorted({r["plot"] for r in rows})
seasons = sorted({r[season] for r in rows})
y = np.array([[next(float(r["yield_kg"]) for r in rows if r["plot"] == p and r[season] == s)
               for s in seasons] for p in plots])
of = {r["plot"]: r for r in rows}


def dummies(name):
    levels = sorted({r[name] for r in rows})
    return np.array([[float(of[p][name] == level) for level in levels] for p in plots])


def fit(columns):
    x = np.column_stack(columns)
    rank = np.linalg.matrix_rank(x)
    return y - x @ np.linalg.lstsq(x, y, rcond=None)[0], len(plots) - rank


k = len(seasons) - 1
c = np.linalg.qr(np.vander(np.arange(k + 1.0), increasing=True))[0][:, 1:]
out = {}
for name, columns in {
    "blocks by seasons apart": [dummies("block"), dummies("treatment")],
    "blocks by seasons pooled": [dummies("treatment")],
}.items():
    r, d = fit(columns)
    v = c.T @ r.T @ r @ c / d
    gg = np.trace(v) ** 2 / (k * (v * v).sum())
    hf = min(1.0, ((d + 1) * k * gg - 2) / (k * (d - k * gg)))
    w = np.linalg.det(v) / (np.trace(v) / k) ** k
    rho = 1 - (2 * k * k + k + 2) / (6 * k * d)
    w2 = ((k + 2) * (k - 1) * (k - 2) * (2 * k**3 + 6 * k * k + 3 * k + 2)
          / (288 * (d * k * rho) ** 2))
    z, df = -d * rho * math.log(w), k * (k + 1) / 2 - 1
    p1, p2 = chi2.sf(z, df), chi2.sf(z, df + 4)
    # Treatments by seasons.
    apart = [column for column in columns[:-1]] or [np.ones((len(plots), 1))]
    r0, d0 = fit(apart)
    h = ((r0 @ c) ** 2).sum() - ((r @ c) ** 2).sum()
    e = ((r @ c) ** 2).sum()
    n1, n2 = (d0 - d) * k, d * k
    f = (h / n1) / (e / n2)
    out[name] = {
        "df": int(d), "greenhouse_geisser": gg, "huynh_feldt": hf, "W": w, "P": p1 + w2 * (p2 - p1),
        "F": f, "P_F": f_dist.sf(f, n1, n2), "P_reduced": f_dist.sf(f, gg * n1, gg * n2),
    }
print(json.dumps(out, indent=1, default=float))
