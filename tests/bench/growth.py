"""How the parts of a check grow with the harness: ``python tests/bench/growth.py [--sweep] [WIRES ...]``.

For both sorts of large harness (``grown``): the processor time of reading, of the circuit, of the logic (what every
element, terminal and path through loads depends on and in which combinations it holds), of the numbers (the named
states and the worst loads), of one solution of a state, of all openings of the last (by full matrices up to some 400
wires in blocks and 800 in circuits, in the blocks that each moves beyond), of all rules on top of these, and of the
whole check; then the exponent of each, the slope of its time over the wires in logarithms by least squares: 1 where
twice the wires take twice the time. A fresh process for each size: 100, 1000 and 5000 wires where none are given. What
else is to be measured is a function of a ``Run`` and a line in ``PARTS``. With ``--sweep`` the openings alone, of 1000,
2000 and 5000 wires, and the most memory that the process had.

Aims: a harness of 1,000 wires under 5 s, start-up included; the openings of one state (``sweep``) as in ``AIMS``: what
misses one is marked (!), and the exit status then is 1.
"""

from __future__ import annotations

import gc
import json
import math
import resource
import subprocess
import sys
import time
from collections.abc import Callable
from datetime import date
from typing import Any

from grown import blocks, grown

from loomwright.checks.dc.flow import flow_of
from loomwright.checks.fmea.fault_simulation import Sweep
from loomwright.checks.logic import TooWideError
from loomwright.checks.logic.predicates import AtPole, Joined, JoinedInSeries, ThroughLoads
from loomwright.checks.runner.run import RuleStudy, catalogue, check_examined
from loomwright.cli import YOUNG
from loomwright.lang.files.reading import read_text
from loomwright.render.report.findings import report_text

SIZES = (100, 1000, 5000)
SWEPT = (1000, 2000, 5000)
AIMS = {1000: 1.0, 5000: 5.0}
"""The s in which all openings of one state are to be solved, by wires, on a machine that does nothing else."""
MOST_EXPONENT, MOST_MB = 1.5, 500.0
SORTS: dict[str, Callable[[int], str]] = {"circuits": grown, "blocks": blocks}
DAY = date(2026, 1, 1)


class Run:
    """One harness on its way through a check; each part of it takes what those before it left."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.reading: Any = None
        self.study: Any = None
        self.report: Any = None


def _read(run: Run) -> None:
    run.reading = read_text(run.text)


def _circuit(run: Run) -> None:
    if run.reading.mistakes:
        raise SystemExit(str(run.reading.mistakes[0]))
    run.study = RuleStudy(run.reading.harness, today=DAY)
    _ = run.study.circuit.nets


def _logic(run: Run) -> None:
    logic = run.study.logic
    for branch in logic.consumers:
        for question in (
            Joined(branch.key),
            JoinedInSeries(branch.key),
            ThroughLoads(branch.key),
            AtPole(branch.a, feed=True),
            AtPole(branch.b, feed=False),
        ):
            try:
                scope = logic.scope(question)
            except TooWideError:
                continue
            scope.may(question.table(scope))
            scope.must(question.table(scope))


def _numbers(run: Run) -> None:
    _ = run.study.operation.loadings


def _solve(run: Run) -> None:
    operation = run.study.operation
    point = next(iter(operation.points.values()))
    flow_of(operation.network, point.flow.situation)


def _sweep(run: Run) -> None:
    operation = run.study.operation
    Sweep(operation).outcomes(list(operation.points)[-1])


def _rules(run: Run) -> None:
    run.report = check_examined(run.reading, run.study)


def _show(run: Run) -> None:
    report_text(run.report)


PARTS: dict[str, Callable[[Run], None]] = {
    "reading": _read,
    "circuit": _circuit,
    "logic": _logic,
    "numbers": _numbers,
    "solve": _solve,
    "sweep": _sweep,
    "rules": _rules,
    "report": _show,
}
"""What is measured, in order: a part may use what a run holds after those before it."""

CHECK = ("reading", "circuit", "rules", "report")
"""The parts that a check consists of; the rules then pay for what they ask of logic and numbers."""


def part(run: Run, work: Callable[[Run], None]) -> float:
    """The processor time of one part, in s."""
    begun = time.process_time()
    work(run)
    return time.process_time() - begun


def measure(sort: str, wires: int) -> dict[str, float]:
    """The time of each part of a run, in s, and of the whole check in a separate run."""
    gc.set_threshold(YOUNG)  # as the command line does
    catalogue()
    read_text(grown(1))  # the grammar is made once
    run = Run(SORTS[sort](wires))
    spent = {name: part(run, work) for name, work in PARTS.items()}
    whole = Run(run.text)
    spent["check"] = sum(part(whole, PARTS[name]) for name in CHECK)
    return spent


def measure_sweep(sort: str, wires: int) -> tuple[float, float]:
    """The time of the openings of one state, in s, and the most memory that its process had, in MB."""
    gc.set_threshold(YOUNG)
    run = Run(SORTS[sort](wires))
    _read(run)
    _circuit(run)
    _ = run.study.operation.points
    spent = part(run, _sweep)
    return spent, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def exponent(sizes: list[int], seconds: list[float]) -> float:
    """The slope of seconds over sizes, both in logarithms, by least squares."""
    across = [math.log(size) for size in sizes]
    up = [math.log(max(each, 1e-6)) for each in seconds]
    x, y = sum(across) / len(across), sum(up) / len(up)
    return sum((a - x) * (b - y) for a, b in zip(across, up, strict=True)) / sum((a - x) ** 2 for a in across)


def wall(sort: str, wires: int) -> float:
    """The time on the clock of ``loomwright check`` in a fresh process, start-up included, in s."""
    code = "import sys\nfrom loomwright.cli import main\nmain(['check', '-'])"
    begun = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-c", code], input=SORTS[sort](wires), capture_output=True, text=True, check=False
    )
    if "Traceback" in done.stderr:
        raise SystemExit(done.stderr)
    return time.perf_counter() - begun


def fresh(*arguments: str) -> Any:
    """What this file prints in a separate process, as data."""
    done = subprocess.run([sys.executable, __file__, *arguments], capture_output=True, text=True, check=True)
    return json.loads(done.stdout)


def sweep(sizes: list[int]) -> int:
    """Print the openings of one state beside their aims; whether one was missed, as an exit status."""
    missed = False
    for sort in SORTS:
        found = [fresh("--one-sweep", sort, str(wires)) for wires in sizes]
        for wires, (seconds, megabytes) in zip(sizes, found, strict=True):
            late = seconds > AIMS.get(wires, math.inf)
            large = megabytes > MOST_MB
            missed |= late or large
            said = f"{seconds:8.2f} s{' (!)' if late else ''}{megabytes:8.0f} MB{' (!)' if large else ''}"
            print(f"{sort:10}{wires:6} wires{said}")
        if len(sizes) > 1:
            slope = exponent(sizes, [seconds for seconds, _ in found])
            missed |= slope > MOST_EXPONENT
            print(f"{sort:10}exponent{slope:12.2f}{' (!)' if slope > MOST_EXPONENT else ''}")
    return int(missed)


def main(sizes: list[int]) -> None:
    for sort in SORTS:
        found = [fresh("--one", sort, str(wires)) | {"command, wall": wall(sort, wires)} for wires in sizes]
        print(f"{sort:16}" + "".join(f"{f'{wires} wires':>14}" for wires in sizes) + "      exponent")
        for name in found[0]:
            seconds = [each[name] for each in found]
            slope = f"{exponent(sizes, seconds):14.2f}" if len(sizes) > 1 else ""
            print(f"  {name:14}" + "".join(f"{each:12.3f} s" for each in seconds) + slope)


if __name__ == "__main__":
    if sys.argv[1:2] == ["--one"]:
        print(json.dumps(measure(sys.argv[2], int(sys.argv[3]))))
    elif sys.argv[1:2] == ["--one-sweep"]:
        print(json.dumps(measure_sweep(sys.argv[2], int(sys.argv[3]))))
    elif sys.argv[1:2] == ["--sweep"]:
        sys.exit(sweep([int(wires) for wires in sys.argv[2:]] or list(SWEPT)))
    else:
        main([int(wires) for wires in sys.argv[1:]] or list(SIZES))
