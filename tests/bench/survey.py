"""How ``identify`` does on random surveys, with ngspice as the meter: ``python tests/bench/survey.py [COUNT]``.

COUNT surveys of each of three whole motorcycles (3 where nothing is stated): colours by a table that is not the
product's, with twice its slips; 2 % of readings wrong. Prints each goal beside what was reached, and exits 1 where one
was missed:

* halves unseen, colours and place alone: 75 % right first, under 1 % wrongly sure;
* all apart, advice followed to its end: 98 % right up to symmetry, under 1 % of halves and of leads wrongly sure, at
  most twice the bits over 0.859 readings, and under one a half;
* parts in, a fifth of the bulbs dead: under 2 % wrongly sure;
* start under 3 s, next reading under 0.3 s of processor time.

*Up to symmetry*: the half is among those that are named as what no reading tells apart.
"""

from __future__ import annotations

import argparse
import math
import random
import sys
import time
from dataclasses import dataclass, replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np
from outside import require_tool
from random_surveys import Known, random_survey, reading

from loomwright.checks.survey.answers import HalfAnswer, Verdict, answers
from loomwright.checks.survey.identify import Identification
from loomwright.checks.survey.islands import Together, spread
from loomwright.checks.survey.probe import next_probe
from loomwright.lang.files.reading import read_file

SPECS = Path(__file__).resolve().parents[2] / "specs"
BIKES = ("stock.loom", "rebuild.loom", "small/electric-start.loom")
MOST_READINGS = 150
CAPACITY = 1.0 - spread((0.02, 0.98))
"""bit that a reading can tell at most where 2 % are wrong: 0.859."""


@dataclass
class Tally:
    halves: int = 0
    right_first: int = 0
    right: int = 0
    wrongly_sure: int = 0
    leads: int = 0
    leads_wrongly_sure: int = 0
    readings: int = 0
    bits: float = 0.0
    start: float = 0.0
    step: float = 0.0


def bits(together: Together) -> float:
    """The entropy of all that is not known: islands, and the maps of each half within them."""
    whole = sum(spread(island.weights) for island in together.islands())
    for place, plug in enumerate(together.plugs):
        rows, groups = together.rows(place), together.groups(place)
        whole += spread(rows) - spread(np.bincount(plug.group, rows))
        assert math.isclose(groups.sum(), 1.0, abs_tol=1e-6)
    return whole


def count(tally: Tally, known: Known, found: tuple[HalfAnswer, ...], identification: Identification) -> None:
    meter = identification.predictions.meter(())
    for answer in found:
        truth = known.halves[answer.half.name]
        named = [name for name, _ in answer.candidates]
        tally.halves += 1
        tally.right_first += named[0] == truth
        tally.right += named[0] == truth or (answer.verdict is Verdict.ANY_OF and truth in named)
        certain = answer.verdict is Verdict.SURE or (answer.verdict is Verdict.NOTHING and answer.measured)
        tally.wrongly_sure += certain and named[0] != truth
        for lead in answer.leads:
            tally.leads += 1
            wrong = lead.end is not None and meter.net(known.leads[lead.lead.name]) != meter.net(lead.end)
            tally.leads_wrongly_sure += lead.sure and wrong


def followed(program: str, known: Known, seed: int, tally: Tally, *, follow: bool) -> None:
    """One survey, its advice followed to the end."""
    rng = random.Random(seed + 1000)
    start = time.process_time()
    found = Identification(known.survey)
    answers(found)
    tally.start = max(tally.start, time.process_time() - start)
    before = bits(found.together)
    survey = known.survey
    while follow and len(survey.readings) < MOST_READINGS:
        start = time.process_time()
        probe = next_probe(found)
        tally.step = max(tally.step, time.process_time() - start)
        if probe is None or probe.owed:
            break
        survey = replace(survey, readings=(*survey.readings, reading(program, known, rng, probe.red, probe.black)))
        start = time.process_time()
        found = Identification(survey, found)
        tally.step = max(tally.step, time.process_time() - start)
    tally.readings += len(survey.readings)
    tally.bits += before - bits(found.together)
    count(tally, known, answers(found), found)


def main() -> int:
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n", 1)[0])
    parser.add_argument("count", nargs="?", type=int, default=3)
    parser.add_argument("--first", type=int, default=0, metavar="SEED")
    asked = parser.parse_args()
    program = require_tool("ngspice")
    colours, apart, together = Tally(), Tally(), Tally()
    for name in BIKES:
        harness = read_file(str(SPECS / name)).harness
        for seed in range(asked.first, asked.first + asked.count):
            followed(program, random_survey(harness, seed), seed, colours, follow=False)
            followed(program, random_survey(harness, seed), seed, apart, follow=True)
            followed(program, random_survey(harness, seed, parts_in=True, dead=0.2), seed, together, follow=True)
            print(f"{name} {seed}: {apart.readings} readings so far", file=sys.stderr, flush=True)
    rows = [
        ("colours alone: right first", colours.right_first / colours.halves, ">=", 0.75),
        ("colours alone: wrongly sure", colours.wrongly_sure / colours.halves, "<", 0.01),
        ("all apart: right up to symmetry", apart.right / apart.halves, ">=", 0.98),
        ("all apart: right first", apart.right_first / apart.halves, "", 0.0),
        ("all apart: halves wrongly sure", apart.wrongly_sure / apart.halves, "<", 0.01),
        ("all apart: leads wrongly sure", apart.leads_wrongly_sure / apart.leads, "<", 0.01),
        ("all apart: readings over bits / 0.859", apart.readings / (apart.bits / CAPACITY), "<=", 2.0),
        ("all apart: readings a half", apart.readings / apart.halves, "<", 1.0),
        ("parts in, 20 % of bulbs dead: right first", together.right_first / together.halves, "", 0.0),
        ("parts in, 20 % of bulbs dead: wrongly sure", together.wrongly_sure / together.halves, "<", 0.02),
        ("start, s", max(colours.start, apart.start), "<", 3.0),
        ("next reading, s", apart.step, "<", 0.3),
    ]
    missed = 0
    print(f"{len(BIKES) * asked.count} surveys, {colours.halves} halves, {colours.leads} leads")
    for title, value, sign, goal in rows:
        fine = {">=": value >= goal, "<": value < goal, "<=": value <= goal, "": True}[sign]
        missed += not fine
        print(f"{title:44} {value:8.4f}  {f'goal {sign} {goal}' if sign else '':14} {'' if fine else 'MISSED'}")
    return 1 if missed else 0


if __name__ == "__main__":
    raise SystemExit(main())
