"""Comparison of an old harness and its rebuild against the numeric solver, on random pairs.

``python tests/bench/pairs.py [COUNT] [FIRST]``: prints every disagreement, then how many pairs were tried.
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from random_pairs import disagreement


def main(count: int = 5_000, first: int = 0) -> None:
    wrong = 0
    for seed in range(first, first + count):
        said = disagreement(seed)
        if said:
            wrong += 1
            print(said)
    print(f"{count} pairs, {wrong} disagreements")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
