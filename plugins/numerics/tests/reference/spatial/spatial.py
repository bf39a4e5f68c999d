"""Reference numbers of the spatial look at wheat.csv (README-spatial.md says what it is).

Moran's I by esda with weights by libpysal, F of trends by statsmodels' least squares, the rest with
numpy. Run: python spatial.py > spatial.json
"""

import json
import sys

import esda
import libpysal
import numpy as np
import pandas as pd
import statsmodels
import statsmodels.api as sm


def dummies(codes):
    return pd.get_dummies(codes).to_numpy(float)


def look(data):
    y = data["yield"].to_numpy()
    treatments = dummies(data["variety"])
    blocks = dummies(data["block"])[:, 1:]
    base = np.column_stack([treatments, blocks])
    plain = sm.OLS(y, base).fit()
    e = plain.resid
    n = len(y)
    row, position = data["row"].to_numpy(float), data["position"].to_numpy(float)
    place = {(r, p): i for i, (r, p) in enumerate(zip(row, position))}
    along = [(i, place[(r, p + 1)]) for (r, p), i in place.items() if (r, p + 1) in place]
    across = [(i, place[(r + 1, p)]) for (r, p), i in place.items() if (r + 1, p) in place]
    out = {"n": n, "df": float(plain.df_resid), "sigma2": float(plain.mse_resid)}
    projection = np.eye(n) - base @ np.linalg.pinv(base)
    for name, pairs in [("along", along), ("across", across), ("both", along + across)]:
        links = {i: [] for i in range(n)}
        for i, j in pairs:
            links[i].append(j)
            links[j].append(i)
        w = libpysal.weights.W(links, silence_warnings=True)
        moran = esda.Moran(e, w, transformation="B", permutations=0)
        dense = w.full()[0]
        a, b = np.array([e[i] for i, _ in pairs]), np.array([e[j] for _, j in pairs])
        out[name] = {
            "pairs": len(pairs),
            "moran": float(moran.I),
            # Cliff and Ord: residuals of a regression expect n/S0 tr(MW)/(n - k).
            "expected": float(n / dense.sum() * np.trace(projection @ dense) / plain.df_resid),
            "correlation": float(a @ b / np.sqrt((a @ a) * (b @ b))),
            "pearson": float(np.corrcoef(a, b)[0, 1]),
        }
    x = np.column_stack([row - row.mean(), position - position.mean()])
    linear = sm.OLS(y, np.column_stack([base, x])).fit()
    squares = x**2
    quadratic = sm.OLS(y, np.column_stack([base, x, squares])).fit()

    def f(fit, columns):
        test = np.zeros((len(columns), len(fit.params)))
        for at, column in enumerate(columns):
            test[at, column] = 1.0
        result = fit.f_test(test)
        return {
            "f": float(np.squeeze(result.fvalue)),
            "df1": float(result.df_num),
            "df2": float(result.df_denom),
            "p": float(result.pvalue),
        }

    k = base.shape[1]
    out["linear"] = {
        "row": {"slope": float(linear.params[k]), "error": float(linear.bse[k])},
        "position": {"slope": float(linear.params[k + 1]), "error": float(linear.bse[k + 1])},
        "both": f(linear, [k, k + 1]),
    }
    out["curved"] = f(quadratic, [k + 2, k + 3])
    # Difference of the first two varieties in the order of their names, and F of all.
    difference = np.zeros(k)
    difference[0], difference[1] = -1.0, 1.0
    a = plain.t_test(difference)
    b = linear.t_test(np.concatenate([difference, [0.0, 0.0]]))
    out["difference"] = {
        "without": [float(np.squeeze(a.effect)), float(np.squeeze(a.sd))],
        "with": [float(np.squeeze(b.effect)), float(np.squeeze(b.sd))],
    }
    return out


wheat = pd.read_csv("wheat.csv")
# Every ninth plot left out: gaps in the map, an unbalanced set.
gaps = wheat[np.arange(len(wheat)) % 9 != 4].reset_index(drop=True)
json.dump(
    {
        "versions": {
            "python": sys.version.split()[0],
            "numpy": np.__version__,
            "esda": esda.__version__,
            "libpysal": libpysal.__version__,
            "statsmodels": statsmodels.__version__,
        },
        "wheat": look(wheat),
        "gaps": look(gaps),
    },
    sys.stdout,
    indent=1,
)
print()
