"""What a source feeds at most with a control moved: no wire that a solved state feeds is left out, states are saved."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from loomwright.checks.dc.devices import UnsolvableError
from loomwright.checks.fmea.fault_simulation import Sweep
from loomwright.checks.fmea.feeding import Feeding
from loomwright.checks.fmea.report import Report, fault_reports
from loomwright.checks.fmea.shorts import Shorts
from loomwright.checks.operation.operation import Operation
from loomwright.checks.protection.protection import Protection
from loomwright.lang.circuit.branch_types import BranchType
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file

ROOT = Path(__file__).parents[3]
DEMONSTRATIONS = [ROOT / "specs" / "stock.loom", ROOT / "specs" / "rebuild.loom"]
HARNESSES = [*DEMONSTRATIONS, *sorted((ROOT / "specs" / "small").glob("*.loom"))]
every_harness = pytest.mark.parametrize("path", HARNESSES, ids=lambda path: path.stem)


def operation(path: Path) -> Operation:
    return Operation(build_circuit(read_file(path).harness))


@every_harness
def test_whatever_is_fed_may_be_fed(path: Path) -> None:
    """Every wire that a fault current gets into, in each state and with each control moved in it, is in the bound."""
    solved = operation(path)
    protection = Protection(solved.circuit)
    feeding = Feeding(solved.network, protection)
    wires = {b.key for b in solved.circuit.branches if b.branch_type is BranchType.WIRE and b.segment is not None}
    asked = fed = 0
    for point in solved.points.values():
        for control in solved.circuit.controls.values():
            for position in control.positions if control.name != "engine" else ():
                try:
                    moved = solved.at({**point.positions, control.name: position}, pinned=point.pinned)
                except UnsolvableError:
                    continue
                found = Shorts(moved, protection).fed(wires)
                at_most = feeding.nodes(moved.positions, moved.pinned)
                assert {key for key in found if solved.circuit.by_key[key].b not in at_most} == set()
                asked, fed = asked + 1, fed + len(found)
    assert asked
    assert fed or path.stem in {"capacitor-single", "magneto-single", "trail-bike"}  # no battery to drain by a short


def test_an_open_button_feeds_nothing_and_a_closed_one_does() -> None:
    """The horn of the stock machine is behind its button: no relay and no output could feed it past that."""
    solved = operation(DEMONSTRATIONS[0])
    feeding = Feeding(solved.network, Protection(solved.circuit))
    at_rest = dict(solved.points["key-on"].positions)
    open_, closed = (feeding.nodes({**at_rest, "HORN-BUTTON": each}, frozenset()) for each in ("rest", "press"))
    only = {node for node in closed - open_ if node.startswith("HORN.")}
    assert open_ < closed
    assert only


def test_an_output_that_nobody_asks_for_feeds_nothing() -> None:
    """The rebuilt machine's horn is behind the control unit, which wants the key and the button; its turn lamps are
    behind a latch, which wants a button, and the key not to be off.
    """
    solved = operation(DEMONSTRATIONS[1])
    feeding = Feeding(solved.network, Protection(solved.circuit))
    at_rest = dict(solved.points["put-away"].positions)

    def fed(**moved: str) -> set[str]:
        nodes = feeding.nodes(
            {**at_rest, **{name.replace("_", "-"): each for name, each in moved.items()}}, frozenset()
        )
        return {node.terminal for node in nodes if node.part == "CTRL"} & {"O3", "O5", "O6", "O7"}

    assert fed() == set()
    assert fed(HORN_BUTTON="press") == set()
    assert fed(KEY="park") == {"O3"}
    assert fed(KEY="on") == {"O3"}
    assert fed(KEY="on", HORN_BUTTON="press") == {"O3", "O7"}
    assert fed(KEY="on", TURN="left") == {"O3", "O5"}
    assert fed(TURN="right") == {"O6"}, "what clears a latch may not be so: a bound, not an answer"


def reported(path: Path) -> tuple[tuple[Report, ...], int]:
    """What is reported of every state, and how many states with a control moved were solved on the way."""
    solved = operation(path)
    reports = fault_reports(Sweep(solved), solved.points, Protection(solved.circuit))
    return tuple(map(rounded, reports)), sum(" with " in key[0] for key in solved._points)


def rounded(report: Report) -> Report:
    """With shares as they are shown: where the solver starts from is in their last digits."""
    return replace(
        report,
        effects=tuple(
            (names, tuple(replace(e, share=round(e.share, 6)) for e in ends)) for names, ends in report.effects
        ),
    )


@every_harness
def test_the_bound_changes_no_report(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    bounded, few = reported(path)

    def all_of_them(self: Feeding, *_: object) -> set[str]:
        return {end for branch in self._network.circuit.branches for end in (branch.a, branch.b)}

    monkeypatch.setattr(Feeding, "nodes", all_of_them)
    plain, many = reported(path)
    assert bounded == plain
    assert few <= many
    if path in DEMONSTRATIONS:
        assert many - few > 30
