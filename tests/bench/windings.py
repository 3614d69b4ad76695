"""All usual circuits of windings and many random networks, judged by settled transients of ngspice.

``python tests/bench/windings.py [NETWORKS] [--first SEED]``; the exit status is 1 where one differs.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import ac_spice
from outside import require_tool

from loomwright.checks.ac.time_steps import time_steps


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("networks", nargs="?", type=int, default=200)
    parser.add_argument("--first", type=int, default=0)
    chosen = parser.parse_args()
    program = require_tool("ngspice")
    cases = {
        f"{kind} at {speed:g}, loads {heavy:g}": ac_spice.case(kind, speed, heavy)
        for kind in ac_spice.KINDS
        for speed in (0.4, 1.0, 1.8)
        for heavy in (0.4, 1.0)
    }
    cases |= {
        f"network {seed}": ac_spice.random_network(seed) for seed in range(chosen.first, chosen.first + chosen.networks)
    }
    wrong = gave_up = 0
    for name, wound in cases.items():
        try:
            theirs = ac_spice.run(program, wound)
        except ac_spice.GaveUpError:
            gave_up += 1
            continue
        found = ac_spice.differences(wound, time_steps(wound), theirs)
        wrong += bool(found)
        for line in found:
            print(f"{name}: {line}")
    print(f"{len(cases)} networks: {wrong} differ, of {gave_up} the simulator found no transient")
    return int(wrong > 0 or gave_up > len(cases) // 20)


if __name__ == "__main__":
    sys.exit(main())
