"""Both tails of the noncentral F as Poisson mixtures of incomplete beta integrals, at 60 digits.

Every weight down to 1e-90 is summed. Run: python3 noncentral_tails.py > noncentral_tails.csv
"""
import mpmath as mp

mp.mp.dps = 60


def tails(f, df1, df2, ncp):
    f, df1, df2, ncp = map(mp.mpf, (f, df1, df2, ncp))
    x = df1 * f / (df1 * f + df2)
    upper, lower, j = mp.mpf(0), mp.mpf(0), 0
    while True:
        weight = mp.exp(-ncp / 2 + j * mp.log(ncp / 2) - mp.loggamma(j + 1))
        a, b = df1 / 2 + j, df2 / 2
        lower += weight * mp.betainc(a, b, 0, x, regularized=True)
        upper += weight * mp.betainc(b, a, 0, 1 - x, regularized=True)
        j += 1
        if j > ncp / 2 and weight < mp.mpf(10) ** -90:
            return upper, lower


print("f,df1,df2,ncp,upper,lower")
for case in (
    (60, 3, 40, 2), (400, 2, 12, 0.01), (300, 1, 200, 5), (0.02, 5, 20, 30), (1, 4, 30, 150),
    (4.5, 1, 3, 0.3), (2.5, 2.5, 7.5, 12.5), (30, 9, 60, 250), (3, 7, 500, 40), (0.5, 12, 1000, 90),
):
    upper, lower = tails(*case)
    print(",".join(map(str, case)), mp.nstr(upper, 20), mp.nstr(lower, 20), sep=",")
