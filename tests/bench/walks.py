"""Walks of button histories over fresh bikes, at length: ``python tests/bench/walks.py [COUNT] [--first SEED]``.

Each bike's stops, claims of ``dead`` and interlocks are proved and then walked by volts. Prints each bike on which a
proof holds that a walk refutes, and how many of all proofs held, were refuted or stayed open. Exits 1 where one is
wrong. With ``--ngspice`` a circuit simulator gives the volts in place of our own solver.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections import Counter
from datetime import date
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from button_walks import refuted
from outside import require_tool
from random_bikes import bike
from spice_walks import SpiceOperation

from loomwright.checks.operation.operation import Operation
from loomwright.checks.study import Study
from loomwright.lang.files.reading import read_text


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("count", nargs="?", type=int, default=1000)
    parser.add_argument("--first", type=int, default=0, help="the seed of the first bike")
    parser.add_argument("--steps", type=int, default=60)
    parser.add_argument("--ngspice", action="store_true", help="let ngspice give the volts")
    arguments = parser.parse_args()
    program = require_tool("ngspice") if arguments.ngspice else ""
    ended: Counter[tuple[str, str]] = Counter()
    bad = unsolved = 0
    for seed in range(arguments.first, arguments.first + arguments.count):
        study = Study(read_text(bike(seed), "bike.loom").harness, today=date(2026, 1, 1))
        properties = study.properties
        ended.update(("stops", each.proof.ended) for each in properties.kills)
        ended.update(("claims of `dead`", each.proof.ended) for each in properties.claims)
        ended.update(("interlocks", each.proof.ended) for each in properties.interlocks)
        judge = SpiceOperation(program, study.circuit) if program else Operation(study.circuit)
        wrong = refuted(study, random.Random(seed), arguments.steps, judge)
        bad += bool(wrong)
        unsolved += judge.unsolved if isinstance(judge, SpiceOperation) else 0
        if wrong:
            print(f"{seed}: {len(wrong)} wrong, such as {wrong[0]}", flush=True)
    print(f"{arguments.count:,} bikes from seed {arguments.first}")
    for kind in ("stops", "claims of `dead`", "interlocks"):
        shown = ", ".join(f"{number:,} {how}" for (what, how), number in sorted(ended.items()) if what == kind)
        print(f"proofs of {kind}: {shown or 'none'}")
    print(f"bikes with a proof that a walk refutes: {bad}")
    if program:
        print(f"moments that ngspice did not solve: {unsolved}")
    return bool(bad)


if __name__ == "__main__":
    sys.exit(main())
