"""Comparison of an old harness and its rebuild against the numeric solver, on random pairs.

``python tests/bench/pairs.py [COUNT] [--first SEED]``: prints every disagreement, then how many pairs were tried, and
exits 1 where there was one.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from random_pairs import disagreement


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", 1)[0])
    parser.add_argument("count", nargs="?", type=int, default=5_000)
    parser.add_argument("--first", type=int, default=0, metavar="SEED")
    asked = parser.parse_args()
    wrong = 0
    for seed in range(asked.first, asked.first + asked.count):
        said = disagreement(seed)
        if said:
            wrong += 1
            print(said, flush=True)
    print(f"{asked.count} pairs from seed {asked.first}, {wrong} disagreements")
    return 1 if wrong else 0


if __name__ == "__main__":
    raise SystemExit(main())
