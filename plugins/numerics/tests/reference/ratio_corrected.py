"""Corrected percentile intervals of the ratio of means over all 3125 resamples of the blocks of
ratio.csv, by the textbook formula (Efron 1987), written apart from the program under test."""
import csv, itertools, json, math, os
from statistics import NormalDist

HERE = os.path.dirname(os.path.abspath(__file__))
rows = list(csv.DictReader(open(os.path.join(HERE, "ratio.csv"))))
normal = NormalDist()
found = {}
for treatment in sorted({r["treatment"] for r in rows}):
    # Whole thousandths, so that sums and comparisons are exact.
    y = [round(1000 * float(r["yield_kg"])) for r in rows if r["treatment"] == treatment]
    w = [round(1000 * float(r["pruning_kg"])) for r in rows if r["treatment"] == treatment]
    n, top, bottom = len(y), sum(y), sum(w)
    below = equal = 0
    values = []
    for chosen in itertools.product(range(n), repeat=n):
        a, b = sum(y[i] for i in chosen), sum(w[i] for i in chosen)
        below += a * bottom < top * b
        equal += a * bottom == top * b
        values.append(a / b)
    values.sort()
    without = [(top - y[i]) / (bottom - w[i]) for i in range(n)]
    middle = math.fsum(without) / n
    d = [middle - v for v in without]
    acceleration = math.fsum(v**3 for v in d) / (6 * math.fsum(v * v for v in d) ** 1.5)
    bias = normal.inv_cdf((below + equal / 2) / len(values))

    def end(z):
        reach = bias + z
        place = (len(values) - 1) * normal.cdf(bias + reach / (1 - acceleration * reach))
        at = math.floor(place)
        return values[at] + (place - at) * (values[min(at + 1, len(values) - 1)] - values[at])

    z = normal.inv_cdf(0.975)
    found[treatment] = [end(-z), end(z)]
json.dump(found, open(os.path.join(HERE, "ratio_corrected.json"), "w"), indent=1)
