"""Comparison of an old harness and its rebuild against the numeric solver, on random pairs.

``python tests/bench/pairs.py [COUNT] [--first SEED] [--ngspice]``: prints every disagreement, then how many pairs were
tried, and exits 1 where there was one. With --ngspice the solver itself is judged, at one point in six of each harness.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from outside import require_tool
from random_pairs import disagreement, told_by_ngspice


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", 1)[0])
    parser.add_argument("count", nargs="?", type=int, default=5_000)
    parser.add_argument("--first", type=int, default=0, metavar="SEED")
    parser.add_argument("--ngspice", action="store_true")
    asked = parser.parse_args()
    program = require_tool("ngspice") if asked.ngspice else ""
    solved = 0
    wrong = 0
    for seed in range(asked.first, asked.first + asked.count):
        if program:
            found, count = told_by_ngspice(program, seed, every=6)
            solved += count
        else:
            found = [said] if (said := disagreement(seed)) else []
        wrong += bool(found)
        for said in found:
            print(said, flush=True)
    circuits = f" ({solved} circuits by ngspice)" if program else ""
    print(f"{asked.count} pairs from seed {asked.first}{circuits}, {wrong} of them with a disagreement")
    return 1 if wrong else 0


if __name__ == "__main__":
    raise SystemExit(main())
