"""Proves random looms and random motorcycles at length: ``python tests/bench/proving.py COUNT [--first SEED]``.

Of each loom every single open, join and swap is put in by networkx and must change a row just where any meter would
tell. Of each motorcycle a sample of the opens that a row of first power claims to show is solved from the start in the
harness without it, and a sample of the rows with the battery off is measured by ngspice, sound and with a fault.
"""

from __future__ import annotations

import argparse
import random
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "checks" / "bench" / "proving"))

from outside import require_tool
from random_bikes import bike
from random_plugs import loom as random_loom
from random_surveys import ohms_by_spice, random_survey
from test_at_rest import setup
from test_first_power import noticed
from test_table import judge, on_the_table

from loomwright.checks.bench.proving.plan import Proof
from loomwright.lang.files.reading import read_text

SAMPLE = 4


def looms(seed: int) -> int:
    """How many wrongs were put into the looms of a seed; raises ``AssertionError`` where a row is wrong."""
    reading = read_text(random_loom(seed), f"looms-{seed}.loom")
    return sum(judge(each) for each in on_the_table(reading.harness))


def motorcycle(program: str, seed: int) -> list[str]:
    """What of a motorcycle's proof does not hold."""
    proof = Proof(read_text(bike(seed), f"bike-{seed}.loom").harness)
    chance = random.Random(seed)
    wrong = []
    power = proof.first_power
    for key in chance.sample(sorted(power.shown), min(SAMPLE, len(power.shown))):
        here = [m for m in power.moments if key in m.watched.point.circuit.by_key]
        if not any(noticed(moment, key) for moment in here):
            wrong.append(f"bike {seed}: {key} open is noticed in no row")
    rest = proof.at_rest
    known = random_survey(rest.harness, 1)
    rows = [row for row in rest.rows if row.expected.way == "ohms"]
    for row in chance.sample(rows, min(SAMPLE, len(rows))):
        shown = ohms_by_spice(program, known, setup(rest, row.sheet), row.red, row.black)
        lamps = bool(row.expected.most and row.expected.least)  # ngspice has a filament of another cold resistance
        if not row.expected.fits(shown) and not lamps:
            wrong.append(f"bike {seed}: row {row.number} shows {shown:.3g} ohm of a sound one: {row}")
    return wrong


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("count", type=int)
    parser.add_argument("--first", type=int, default=0)
    asked = parser.parse_args()
    program = require_tool("ngspice")
    wrong: list[str] = []
    put_in = 0
    for seed in range(asked.first, asked.first + asked.count):
        put_in += looms(seed)
        wrong += motorcycle(program, seed)
    for said in wrong:
        print(said)
    print(f"{asked.count} seeds: {put_in} wrongs on the table, all as networkx has them; {len(wrong)} rows wrong")
    return int(bool(wrong))


if __name__ == "__main__":
    sys.exit(main())
