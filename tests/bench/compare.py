#!/usr/bin/env python3
"""Times the statistics beside general-purpose libraries, alternately and in one run.

From the root of the repository:

    python3 -m venv target/bench && target/bench/bin/pip install numpy scipy statsmodels
    target/bench/bin/python tests/bench/compare.py [repetitions]

Where a library is not installed, the script says so and shows our own times only. It builds the
crate in tests/bench in release and prints one table: for each job least and median wall-clock time
of both, the ratio of the medians, and how far the results agree. A reference that takes long does a
part of the work, which is scaled up and marked. tests/bench/README.md keeps a dated copy.
"""
import importlib
import json
import os
import platform
import statistics
import subprocess
import sys
import time
import warnings

REPETITIONS = int(sys.argv[1]) if len(sys.argv) > 1 else 15
SLOW = 3  # repetitions of what takes seconds


def library(name):
    try:
        return importlib.import_module(name)
    except ImportError:
        print(f"{name} is not installed: the times it would give are left out", file=sys.stderr)
        return None


np = library("numpy")
stats = library("scipy.stats") if np else None
mixed = library("statsmodels.regression.mixed_linear_model") if np else None


class Ours:
    """The program of this crate: a job in, its seconds and findings out."""

    def __init__(self):
        build = ["cargo", "build", "--release", "--quiet", "-p", "caneplot-bench"]
        subprocess.run(build, check=True)
        program = os.path.join("target", "release", "caneplot-bench")
        self.process = subprocess.Popen(
            [program], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
        )

    def ask(self, job):
        self.process.stdin.write(job + "\n")
        self.process.stdin.flush()
        line = self.process.stdout.readline()
        if not line:
            sys.exit(f"the job '{job}' failed; its reason stands above")
        return json.loads(line)


class Reference:
    """A way to do a job with general-purpose libraries; `part` of the work is scaled up to all."""

    def __init__(self, name, needs, run, agreement, part=1.0, slow=False):
        self.name, self.run, self.agreement = name, run, agreement
        self.there = all(needs)
        self.part, self.slow = part, slow


# --- 1,000 responses of a randomised block -------------------------------------------------------


def shared_letters(pairs_differ, means):
    """Letters by insertion and absorption (Piepho 2004), as a matrix of means that share one."""
    count = len(means)
    columns = [set(range(count))]
    for a in range(count):
        for b in range(a + 1, count):
            if not pairs_differ[a][b]:
                continue
            found = []
            for column in columns:
                found += [column - {a}, column - {b}] if {a, b} <= column else [column]
            columns = []
            for column in found:
                if not any(column < other for other in found) and column not in columns:
                    columns.append(column)
    return [[any({a, b} <= c for c in columns) for b in range(count)] for a in range(count)]


def anova(data, responses):
    blocks, treatments = data["blocks"], data["treatments"]
    y = np.asarray(responses).reshape(-1, blocks, treatments)
    y = y - y.mean(axis=(1, 2), keepdims=True)
    means = y.mean(axis=1)
    of_treatments = blocks * (means**2).sum(axis=1)
    of_blocks = treatments * (y.mean(axis=2) ** 2).sum(axis=1)
    df = (blocks - 1) * (treatments - 1)
    error = ((y**2).sum(axis=(1, 2)) - of_treatments - of_blocks) / df
    f = of_treatments / (treatments - 1) / error
    p = stats.f.sf(f, treatments - 1, df) if stats else None
    q = np.abs(means[:, :, None] - means[:, None, :]) / np.sqrt(error / blocks)[:, None, None]
    return means, f, p, q, df


def with_p(data):
    means, f, p, q, df = anova(data, data["responses"][: data["part"]])
    upper = np.triu_indices(data["treatments"], 1)
    pairs = stats.studentized_range.sf(q[:, upper[0], upper[1]], data["treatments"], df)
    letters = []
    for own, mean in zip(pairs, means):
        differ = np.zeros((data["treatments"],) * 2, bool)
        differ[upper] = own <= 0.05
        letters.append(shared_letters(differ, mean))
    return f, p, pairs, letters, upper


def without_p(data):
    means, f, p, q, df = anova(data, data["responses"])
    critical = stats.studentized_range.isf(0.05, data["treatments"], df)
    letters = [shared_letters(own >= critical, mean) for own, mean in zip(q, means)]
    return f, p, None, letters, None


def same_blocks(ours, theirs):
    f, p, pairs, letters, upper = theirs
    worst = 0.0
    for at, own in enumerate(ours[: len(f)]):
        worst = max(worst, abs(own["f"] / f[at] - 1), abs(own["p"] / p[at] - 1))
        if pairs is not None:
            square = np.reshape(own["pairs"], (len(own["letters"]),) * 2)[upper]
            worst = max(worst, np.abs(square - pairs[at]).max())
        shared = [[bool(set(a) & set(b)) for b in own["letters"]] for a in own["letters"]]
        if shared != letters[at]:
            return "letters differ"
    what = "F, P" if pairs is not None else "F and its P"
    return f"{what} to {worst:.0e}, letters the same"


# --- the oats ------------------------------------------------------------------------------------


def oats_model(blocks, whole, sub, values):
    """Blocks and whole plots random, the cells of the treatments fixed; made before the clock runs."""
    unit = np.arange(len(values))
    cells = unit // sub % whole * sub + unit % sub
    fixed = (cells[:, None] == np.arange(whole * sub)).astype(float)
    groups = unit // (whole * sub)
    in_block = (unit[: whole * sub] // sub)[:, None] == np.arange(whole)
    parts = mixed.VCSpec(
        names=["whole plot"],
        colnames=[[[str(w) for w in range(whole)]] * blocks],
        mats=[[in_block.astype(float)] * blocks],
    )
    return mixed.MixedLM(
        np.asarray(values), fixed, groups, exog_re=np.ones((len(values), 1)), exog_vc=parts
    )


def fit(model):
    # Where a variance is zero the library warns of every search it tries; the time counts all of them.
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return model.fit(reml=True)


def same_oats(ours, theirs):
    block, whole = float(theirs.cov_re[0, 0]), float(theirs.vcomp[0])
    pairs = zip(ours["variances"], (block, whole, theirs.scale))
    return f"variances to {max(abs(a / b - 1) for a, b in pairs):.0e}; no tests"


# --- shuffles ------------------------------------------------------------------------------------


def shuffled(data):
    blocks, treatments = data["blocks"], data["treatments"]
    y = np.reshape(data["values"], (blocks, treatments))
    y = y - y.mean(axis=1, keepdims=True)
    whole = (y**2).sum()
    df = (blocks - 1) * (treatments - 1)

    def f(totals):
        own = (totals**2).sum(axis=-1) / blocks
        return own / (treatments - 1) / ((whole - own) / df)

    many = np.broadcast_to(y, (data["draws"], blocks, treatments))
    drawn = np.random.default_rng(1).permuted(many, axis=2)
    as_large = (f(drawn.sum(axis=1)) >= f(y.sum(axis=0)) - 1e-12).sum()
    return (as_large + 1) / (data["draws"] + 1)


def same_share(ours, theirs):
    apart = abs(ours["p"] - theirs) / (ours["error"] * 2**0.5)
    return f"P {ours['p']:.4f} and {theirs:.4f}, {apart:.1f} standard errors apart"


# --- split plots ---------------------------------------------------------------------------------


def drawn(data, draws, rng):
    blocks, whole, sub = data["blocks"], data["whole"], data["sub"]
    of = [variance**0.5 for variance in data["variances"]]
    y = np.reshape(data["expected"], (1, blocks, whole, sub)) + of[2] * rng.standard_normal(
        (draws, blocks, whole, sub)
    )
    y += of[0] * rng.standard_normal((draws, blocks, 1, 1))
    y += of[1] * rng.standard_normal((draws, blocks, whole, 1))
    return y


def split_strata(data):
    blocks, whole, sub = data["blocks"], data["whole"], data["sub"]
    y = drawn(data, data["draws"], np.random.default_rng(1))
    y -= y.mean(axis=(1, 2, 3), keepdims=True)

    def squares(*axes):
        means = y.mean(axis=axes)
        return (means.reshape(len(y), -1) ** 2).sum(axis=1) * (y[0].size / means[0].size)

    first, second, both = squares(1, 3), squares(1, 2), squares(1)
    block, plots = squares(2, 3), squares(3)
    interaction = both - first - second
    error_first = plots - block - first
    error = (y.reshape(len(y), -1) ** 2).sum(axis=1) - plots - second - interaction
    df_first, df = (blocks - 1) * (whole - 1), (blocks - 1) * whole * (sub - 1)
    power = []
    for own, own_df, left, left_df in (
        (first, whole - 1, error_first, df_first),
        (second, sub - 1, error, df),
        (interaction, (whole - 1) * (sub - 1), error, df),
    ):
        critical = stats.f.isf(0.05, own_df, left_df)
        power.append((own / own_df >= critical * left / left_df).mean())
    return power


def split_restricted(data):
    """Fits alone: the library has no degrees of freedom for the tests."""
    many = drawn(data, data["part"], np.random.default_rng(1))
    for y in many:
        fit(oats_model(data["blocks"], data["whole"], data["sub"], y.ravel()))
    return None


def same_power(data):
    def agreement(ours, theirs):
        exact = zip(ours["power"], ours["error"], data["exact"])
        worst = max(abs(power - true) / error for power, error, true in exact)
        text = f"{worst:.1f} standard errors from the exact power of the strata tests at most"
        if theirs is not None:
            pairs = zip(ours["power"], ours["error"], theirs)
            apart = max(abs(a - b) / (error * 2**0.5) for a, error, b in pairs)
            text = f"power {apart:.1f} standard errors apart at most; ours {text}"
        return text

    return agreement


def jobs(ours):
    """Name, job of our program, slow or not, references."""
    blocks, oats = ours.ask("blocks data"), ours.ask("oats data")
    shuffles, split = ours.ask("shuffles data"), ours.ask("split data")
    blocks["part"], split["part"] = 10, 10
    model = oats_model(oats["blocks"], oats["whole"], oats["sub"], oats["values"]) if mixed else None
    restricted = Reference(
        "statsmodels MixedLM, fits without tests", [mixed], lambda: split_restricted(split),
        same_power(split), split["part"] / split["draws"], True,
    )
    return [
        ("1,000 responses, 6 blocks x 8: ANOVA, 28 Tukey P, letters", "blocks", False, [
            Reference("numpy + scipy studentized_range", [np, stats], lambda: with_p(blocks),
                      same_blocks, blocks["part"] / len(blocks["responses"]), True),
            Reference("numpy + scipy, one critical value, no Tukey P", [np, stats],
                      lambda: without_p(blocks), same_blocks),
        ]),
        ("oats: REML and three Kenward-Roger tests", "oats", False, [
            Reference("statsmodels MixedLM, fit without tests", [mixed], lambda: fit(model), same_oats),
        ]),
        ("10,000 shuffles inside 6 blocks of 8, F of each", "shuffles", False, [
            Reference("numpy, vectorised", [np], lambda: shuffled(shuffles), same_share),
        ]),
        ("10,000 simulated split plots 4 x 3 x 4: strata", "split strata", False, [
            Reference("numpy + scipy, vectorised", [np, stats], lambda: split_strata(split),
                      same_power(split)),
        ]),
        ("the same: REML and Kenward-Roger, closed form", "split restricted", False, [restricted]),
        ("the same: REML and Kenward-Roger, general search", "split search", True, [restricted]),
    ]


def seconds(value):
    for unit, size in (("s", 1.0), ("ms", 1e-3)):
        if value >= size:
            return f"{value / size:.3g} {unit}"
    return f"{value * 1e6:.3g} µs"


def measured(ours, job, slow, reference):
    """Times of both, one after the other in turn, and how far they agree."""
    repetitions = SLOW if slow or reference and reference.slow else REPETITIONS
    mine, theirs, agreement = [], [], ""
    ours.ask(job)
    for _ in range(repetitions):
        answer = ours.ask(job)
        mine.append(answer["seconds"])
        if reference:
            start = time.perf_counter()
            found = reference.run()
            theirs.append((time.perf_counter() - start) / reference.part)
            agreement = reference.agreement(answer["found"], found)
    return mine, theirs, agreement


def main():
    ours = Ours()
    versions = [f"Python {platform.python_version()}"]
    versions += [f"{m} {importlib.import_module(m).__version__}"
                 for m, there in (("numpy", np), ("scipy", stats), ("statsmodels", mixed)) if there]
    print(f"{', '.join(versions)}; {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f} at the start\n")
    print("| job | ours, least | median | reference | least | median | ratio | agreement |")
    print("|---|---:|---:|---|---:|---:|---:|---|")
    for name, job, slow, references in jobs(ours):
        for reference in [r for r in references if r.there] or [None]:
            mine, theirs, agreement = measured(ours, job, slow, reference)
            row = [name, seconds(min(mine)), seconds(statistics.median(mine))]
            if reference:
                scaled = " (scaled)" if reference.part < 1 else ""
                ratio = statistics.median(theirs) / statistics.median(mine)
                row += [reference.name + scaled, seconds(min(theirs)),
                        seconds(statistics.median(theirs)), f"{ratio:,.2g}", agreement]
            else:
                row += ["not installed", "", "", "", ""]
            print("| " + " | ".join(row) + " |", flush=True)


if __name__ == "__main__":
    main()
