"""Reference fits in 50-digit arithmetic, for models with at most one random term.

Nothing is shared with the program: the integral over a unit's effect is one-dimensional, Laplace's
approximation and the exact integral (trapezoidal rule) are taken unit by unit, derivatives are
central differences with a step of 1e-16, the outer search is Newton's. Writes own.json.
"""

import csv
import json

from mpmath import mp, mpf, log, exp, sqrt, loggamma, matrix, lu_solve, det, pi, nstr

mp.dps = 50
STEP = mpf(10) ** -16


def softplus(x):
    return log(1 + exp(x))


def log_density(family, y, total, eta, shape):
    if family == "binomial":
        return (loggamma(total + 1) - loggamma(y + 1) - loggamma(total - y + 1)
                + y * eta - total * softplus(eta))
    if family == "poisson":
        return y * eta - exp(eta) - loggamma(y + 1)
    theta, mean = exp(shape), exp(eta)
    return (loggamma(y + theta) - loggamma(theta) - loggamma(y + 1) + theta * shape + y * eta
            - (y + theta) * log(theta + mean))


def slopes(family, y, total, eta, shape):
    """First and minus second derivative in eta."""
    if family == "binomial":
        p = 1 / (1 + exp(-eta))
        return y - total * p, total * p * (1 - p)
    mean = exp(eta)
    if family == "poisson":
        return y - mean, mean
    theta = exp(shape)
    return y - (y + theta) * mean / (theta + mean), (y + theta) * theta * mean / (theta + mean) ** 2


class Model:
    def __init__(self, family, y, total, x, unit, exact=False, penalised=False):
        self.family, self.y, self.x = family, [mpf(v) for v in y], [[mpf(v) for v in r] for r in x]
        self.total = [mpf(v) for v in total] if total else [mpf(0)] * len(y)
        self.exact, self.penalised = exact, penalised
        self.units = [[i for i, u in enumerate(unit) if u == name] for name in dict.fromkeys(unit)] if unit else None
        self.shapes = 1 if family == "negative binomial" else 0

    def split(self, phi):
        shape = phi[0] if self.shapes else mpf(0)
        rest = phi[self.shapes:]
        return (shape, rest[0], rest[1:]) if self.units else (shape, mpf(0), rest)

    def value(self, phi):
        shape, sd, beta = self.split(phi)
        eta = [sum(b * v for b, v in zip(beta, row)) for row in self.x]
        at = lambda i, e: log_density(self.family, self.y[i], self.total[i], e, shape)
        if self.units is None:
            found = sum(at(i, e) for i, e in enumerate(eta))
        else:
            found = sum(self.unit(rows, eta, sd, shape, at) for rows in self.units)
        if self.penalised:
            p = len(beta)
            info = matrix(p, p)
            for i, row in enumerate(self.x):
                w = slopes(self.family, self.y[i], self.total[i], eta[i], shape)[1]
                for a in range(p):
                    for b in range(p):
                        info[a, b] += w * row[a] * row[b]
            found += log(det(info)) / 2
        return found

    def unit(self, rows, eta, sd, shape, at):
        u = mpf(0)
        for _ in range(60):
            g, h = -u, mpf(1)
            for i in rows:
                first, minus = slopes(self.family, self.y[i], self.total[i], eta[i] + sd * u, shape)
                g, h = g + sd * first, h + sd * sd * minus
            u += g / h
            if abs(g / h) < mpf(10) ** -48:
                break
        joint = lambda v: sum(at(i, eta[i] + sd * v) for i in rows) - v * v / 2
        peak = joint(u)
        if not self.exact:
            return peak - log(h) / 2
        width = 1 / sqrt(h)
        # The trapezoidal rule converges exponentially on a smooth peak (Trefethen & Weideman 2014).
        step = width / 4
        heights = [exp(joint(u + k * step) - peak) for k in range(-52, 53)]
        return peak + log(sum(heights) * step / sqrt(2 * pi))


def newton(model, phi):
    size = len(phi)
    phi = [mpf(v) for v in phi]
    for _ in range(40):
        move = lambda d: model.value([p + STEP * d.get(i, 0) for i, p in enumerate(phi)])
        here = move({})
        up, down = [move({i: 1}) for i in range(size)], [move({i: -1}) for i in range(size)]
        g = matrix([(a - b) / (2 * STEP) for a, b in zip(up, down)])
        h = matrix(size, size)
        for i in range(size):
            h[i, i] = (up[i] - 2 * here + down[i]) / STEP**2
            for j in range(i):
                mixed = move({i: 1, j: 1}) - move({i: 1, j: -1}) - move({i: -1, j: 1}) + move({i: -1, j: -1})
                h[i, j] = h[j, i] = mixed / (4 * STEP**2)
        step = lu_solve(-h, g)
        largest = max(abs(s) for s in step)
        scale = min(mpf(1), 1 / largest) if largest else mpf(1)
        phi = [p + scale * s for p, s in zip(phi, step)]
        if largest < mpf(10) ** -14:
            break
    else:
        raise SystemExit("no convergence")
    covariance = (-h) ** -1
    return phi, model.value(phi), [sqrt(covariance[i, i]) for i in range(size)]


def rows(name):
    return list(csv.DictReader(open(f"{name}.csv")))


def indicators(data, column, levels):
    return [[1] + [int(r[column] == level) for level in levels[1:]] for r in data]


T = ["T1", "T2", "T3", "T4"]
out = {}


def fit(name, model, start, parameters):
    phi, value, errors = newton(model, start)
    out[name] = {
        "log_likelihood": nstr(value, 18),
        "parameters": [{"name": n, "value": nstr(v, 18), "error": nstr(e, 14)} for n, v, e in zip(parameters, phi, errors)],
    }
    print(name, out[name], flush=True)


d = rows("budsurvival")
x = indicators(d, "treatment", T)
blocks = sorted({r["block"] for r in d})
block_x = [[int(r["block"] == b) for b in blocks[1:]] for r in d]
survived = [int(r["survived"]) for r in d]
total = [int(r["n"]) for r in d]
# Every bud of T1 alive: the separated set.
full = [n if r["treatment"] == "T1" else s for r, s, n in zip(d, survived, total)]
names = ["one", "T2", "T3", "T4"]
fit("separated_penalised_fixed_blocks", Model("binomial", full, total, [a + b for a, b in zip(x, block_x)], None, penalised=True),
    [4, -3, -3, -3, 0, 0, 0, 0, 0], names + blocks[1:])
fit("separated_penalised_random_blocks", Model("binomial", full, total, x, [r["block"] for r in d], penalised=True),
    [0.4, 4, -3, -3, -3], ["sd"] + names)
fit("penalised_random_blocks", Model("binomial", survived, total, x, [r["block"] for r in d], penalised=True),
    [0.4, 1.4, 0, -1, -1], ["sd"] + names)
d = rows("clusters")
fit("clusters_negative_binomial", Model("negative binomial", [int(r["clusters"]) for r in d], None, indicators(d, "treatment", T), [r["block"] for r in d]),
    [3, 0.15, 2.6, 0.4, 0.4, 0.6], ["shape", "sd"] + names)
zero = [0 if r["treatment"] == "T1" else int(r["clusters"]) for r in d]
fit("no_clusters_penalised", Model("poisson", zero, None, indicators(d, "treatment", T), [r["block"] for r in d], penalised=True),
    [0.15, -3, 6, 6, 6], ["sd"] + names)
mp.dps = 40
STEP = mpf(10) ** -12
d = rows("cbpp")
fit("cbpp_exact", Model("binomial", [int(r["incidence"]) for r in d], [int(r["size"]) for r in d], indicators(d, "period", list("1234")), [r["herd"] for r in d], exact=True),
    [0.65, -1.4, -1, -1.1, -1.6], ["sd", "one", "2", "3", "4"])
json.dump(out, open("own.json", "w"), indent=1)
open("own.json", "a").write("\n")
