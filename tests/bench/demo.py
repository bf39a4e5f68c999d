#!/usr/bin/env python3
"""Wall clock and peak memory of the demo runs in release.

Usage, from the root, after `cargo build --release`:  python3 tests/bench/demo.py [runs]
Prints one table; tests/bench/README.md keeps a dated copy.
"""
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time

runs = int(sys.argv[1]) if len(sys.argv) > 1 else 10
program = os.path.join("target", "release", "caneplot")
trials = sorted(
    name for name in os.listdir("trials") if os.path.isfile(os.path.join("trials", name, "trial.toml"))
)
print(f"{'trial':<20} {'median s':>9} {'least s':>9} {'peak MB':>9}")
for trial in trials:
    seconds = []
    with tempfile.TemporaryDirectory() as out:
        for _ in range(runs):
            start = time.perf_counter()
            subprocess.run(
                [program, "run", os.path.join("trials", trial), "--out", out],
                check=True,
                stdout=subprocess.DEVNULL,
                stderr=subprocess.DEVNULL,
            )
            seconds.append(time.perf_counter() - start)
    # The largest resident set among all processes of all runs so far, workers included.
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"{trial:<20} {statistics.median(seconds):>9.3f} {min(seconds):>9.3f} {peak:>9.0f}")
