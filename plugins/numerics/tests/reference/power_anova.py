"""Power of the one-way F test of k equal groups by a general-purpose statistical library (statsmodels
0.15.0, FTestAnovaPower), and the effect it finds with a power of 0.8 and 0.9; written apart from the
program under test. `f` is Cohen's effect size, sqrt(sum of squared effects / k) / sigma."""
import os
from scipy.optimize import brentq
from statsmodels.stats.power import FTestAnovaPower

HERE = os.path.dirname(os.path.abspath(__file__))
test = FTestAnovaPower()
with open(os.path.join(HERE, "power_anova.csv"), "w") as out:
    out.write("groups,replicates,f,alpha,power,f80,f90\n")
    for groups in (2, 3, 4, 6):
        for replicates in (3, 5, 8, 20):
            for f in (0.25, 0.5, 1.0):
                for alpha in (0.05, 0.01):
                    n = groups * replicates
                    power = test.power(f, n, alpha, groups)
                    # Its own solve_power finds no start here; far beyond the root its power is not a number.
                    top = 0.02
                    while test.power(top, n, alpha, groups) < 0.95:
                        top *= 1.3
                    found = [
                        brentq(lambda f: test.power(f, n, alpha, groups) - wanted, 0.01, top, xtol=1e-13)
                        for wanted in (0.8, 0.9)
                    ]
                    out.write(f"{groups},{replicates},{f},{alpha},{float(power)!r},{found[0]!r},{found[1]!r}\n")
