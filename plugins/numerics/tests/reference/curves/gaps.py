"""Curves on sim_plateau.csv with gaps, and the asymptotic curve with and without them: dense least
squares on single plots (fixed block columns), 40-digit arithmetic, the join or rate by golden
section after a fine grid. Adjusted heights are means over equally weighted blocks."""
import csv, json, os
import mpmath as mp

mp.mp.dps = 40
here = os.path.dirname(os.path.abspath(__file__))
rows = list(csv.DictReader(open(here + "/sim_plateau.csv")))
GAPS = [("B1", "10"), ("B2", "40"), ("B2", "90"), ("B3", "20"), ("B3", "30"), ("B4", "60")]
S = lambda v: mp.nstr(v, 18)


def ls(X, y):
    A = mp.matrix(X)
    N = A.T * A
    r = mp.lu_solve(N, A.T * mp.matrix(y))
    return list(r), sum((y[i] - sum(A[i, j] * r[j] for j in range(A.cols))) ** 2 for i in range(A.rows)), N


def fit(kind, data):
    blocks = sorted({r["block"] for r in data})
    x = [mp.mpf(r["buds"]) for r in data]
    y = [mp.mpf(r["yield_kg"]) for r in data]
    lowest = min(x)
    cols = lambda i: [mp.mpf(int(data[i]["block"] == b)) for b in blocks]
    shape = {
        "line_plateau": lambda v, t: min(v, t) - t,
        "quadratic_plateau": lambda v, t: (min(v, t) - t) ** 2,
        "asymptotic": lambda v, t: 1 - mp.e ** (-t * (v - lowest)),
    }
    if kind == "quadratic":
        r, rss, N = ls([cols(i) + [x[i], x[i] ** 2] for i in range(len(x))], y)
        mean = sum(r[:4]) / 4
        return dict(rss=S(rss), b=S(r[4]), q=S(r[5]), height_at_50=S(mean + 50 * r[4] + 2500 * r[5]))
    X = lambda t: [cols(i) + [shape[kind](x[i], t)] for i in range(len(x))]
    f = lambda t: ls(X(t), y)[1]
    grid = [mp.mpf(v) / 400 for v in range(2, 120)] if kind == "asymptotic" else [mp.mpf(v) for v in range(21 if kind == "line_plateau" else 31, 90)]
    v = [f(t) for t in grid]
    k = min(range(len(grid)), key=lambda i: v[i])
    a, b = grid[k - 1], grid[k + 1]
    g = (mp.sqrt(5) - 1) / 2
    c, d = b - g * (b - a), a + g * (b - a)
    fc, fd = f(c), f(d)
    for _ in range(90):
        if fc < fd:
            b, d, fd = d, c, fc
            c = b - g * (b - a)
            fc = f(c)
        else:
            a, c, fc = c, d, fd
            d = a + g * (b - a)
            fd = f(d)
    t = (a + b) / 2
    r, rss, _ = ls(X(t), y)
    mean = sum(r[:4]) / 4
    # Jacobian for the linearised variance of the height at 50, in units of the error variance.
    h = mp.mpf(10) ** -15
    J = []
    for i in range(len(x)):
        row = X(t)[i]
        J.append(row + [r[4] * (shape[kind](x[i], t + h) - shape[kind](x[i], t - h)) / (2 * h)])
    C = (mp.matrix(J).T * mp.matrix(J)) ** -1
    at = mp.mpf(50)
    grad = mp.matrix([mp.mpf(1) / 4] * 4 + [shape[kind](at, t), r[4] * (shape[kind](at, t + h) - shape[kind](at, t - h)) / (2 * h)])
    var = (grad.T * C * grad)[0]
    # The profile set that allows 5 % more than the least sum of squares.
    limit = rss * mp.mpf("1.05")

    def cross(step):
        e = t
        while f(e) < limit and (kind == "asymptotic" or 10 < e < 90):
            e += step
        lo, hi = e - step, e
        for _ in range(110):
            m = (lo + hi) / 2
            lo, hi = (m, hi) if f(m) < limit else (lo, m)
        return (lo + hi) / 2

    step = mp.mpf(1) / 400 if kind == "asymptotic" else mp.mpf(1) / 4
    return dict(rss=S(rss), second=S(t), first=S(r[4]), height_at_50=S(mean + r[4] * shape[kind](at, t)), unit_variance_at_50=S(var), set=[S(cross(-step)), S(cross(step))], allowed=S(rss * mp.mpf("0.05")))


whole = rows
gappy = [r for r in rows if (r["block"], r["buds"]) not in GAPS]


def cells(data):
    blocks = sorted({r["block"] for r in data})
    levels = sorted({r["buds"] for r in data}, key=float)
    X = [[mp.mpf(int(r["block"] == b)) for b in blocks] + [mp.mpf(int(r["buds"] == l)) for l in levels[1:]] for r in data]
    y = [mp.mpf(r["yield_kg"]) for r in data]
    r, rss, N = ls(X, y)
    C = N ** -1
    out = []
    for k, l in enumerate(levels):
        g = mp.matrix([mp.mpf(1) / 4] * 4 + [mp.mpf(int(k == j + 1)) for j in range(len(levels) - 1)])
        out.append([l, S(sum(g[i] * r[i] for i in range(len(r)))), S((g.T * C * g)[0])])
    return dict(rss=S(rss), df=len(data) - len(r), means=out)


out = {
    "whole": {"asymptotic": fit("asymptotic", whole)},
    "gaps": {"removed": GAPS, "cells": cells(gappy), **{k: fit(k, gappy) for k in ["quadratic", "line_plateau", "quadratic_plateau", "asymptotic"]}},
}
json.dump(out, open(here + "/gaps.json", "w"), indent=1)
