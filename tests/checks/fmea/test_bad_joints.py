"""Bad joints where something drops out, keeps switching, stops the engine, or was left otherwise before."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from detectives import detective as diagnoser_of

from loomwright.checks.dc.devices import UnsolvableError
from loomwright.checks.dc.memory import Memory
from loomwright.checks.diagnosis.diagnosis import Diagnosis
from loomwright.checks.diagnosis.observations import ObservationError, observations
from loomwright.checks.diagnosis.ranking import Diagnoser
from loomwright.checks.fmea.after import After
from loomwright.checks.fmea.failure_modes import Damage
from loomwright.checks.fmea.fault_simulation import Sweep
from loomwright.checks.fmea.propagation import Propagation
from loomwright.checks.operation.operation import OperatingPoint, Operation
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_file, read_text
from loomwright.render.report.diagnosis import inquiry_text

SPECS = Path(__file__).parents[3] / "specs"

BOX = """loom "A box that fires a coil while it gets enough"
system 12 V negative ground
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
source ALT alternator at tray { output 200 W: B+ B-; regulated 14.2 V }
fuse MAIN 15 A blade at tray
switch KEY 15 A key at tray { off: ; on: 30 15 }
unit BOX at tray for ignition {
    supply 200 mA: 15 31; input pick signal: P P-; output coil 8 A grounded clamped: C when pick
}
sensor PICK at tray for ignition { signal 210 ohm: 1 2 }
load COIL ignition at tray for ignition { primary 3 ohm: 15 1 }
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 0.2 m
wire 2 MAIN.2 to KEY.30 red 2.5 mm2 0.2 m
wire 3 KEY.15 to COIL.15 black 1 mm2 0.3 m
wire 4 KEY.15 to BOX.15 black 1 mm2 0.3 m
wire 5 COIL.1 to BOX.C green 1 mm2 0.3 m
wire 6 BOX.31 to BAT.- black 2.5 mm2 0.2 m
wire 9 PICK.1 to BOX.P white 1 mm2 0.3 m
wire 10 PICK.2 to BOX.P- green 1 mm2 0.3 m
wire 7 ALT.B+ to MAIN.2 red 2.5 mm2 0.2 m
wire 8 ALT.B- to BAT.- black 2.5 mm2 0.2 m
state riding { KEY on, engine running }
"""

HELD = """loom "A relay that holds itself"
system 12 V negative ground
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 15 A blade at tray
switch START 5 A momentary at tray { rest: ; press: 1 2 }
relay K 20 A at tray { coil 90 ohm: 86 85; released: ; pulled: 30 87 }
load LAMP lamp at tray for lighting { glow 21 W: 1 2 }
load OTHER lamp at tray for lighting { glow 5 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 0.2 m
wire 2 MAIN.2 to START.1 red 1 mm2 0.2 m
wire 3 START.2 to K.86 red 1 mm2 0.2 m
wire 4 K.85 to BAT.- black 1 mm2 0.2 m
wire 5 MAIN.2 to K.30 red 1 mm2 0.2 m
wire 6 K.87 to LAMP.1 red 1 mm2 0.2 m
wire 7 LAMP.2 to BAT.- black 1 mm2 0.2 m
wire 8 K.87 to K.86 red 1 mm2 0.2 m
wire 9 MAIN.2 to OTHER.1 red 1 mm2 0.2 m
wire 10 OTHER.2 to BAT.- black 1 mm2 0.2 m
state on { }
"""


@cache
def detective(text: str, state: str) -> Diagnoser:
    reading = read_text(text, "bike.loom")
    assert reading.mistakes == ()
    return Diagnoser(Sweep(Operation(build_circuit(reading.harness))), state)


def asked(found: Diagnoser, seen: str) -> Diagnosis:
    return found.inquire(observations(seen, found.places))


def keys(diagnosis: Diagnosis) -> set[tuple[str, str]]:
    return {(s.fault.key, s.mode) for s in diagnosis.suspects}


def test_what_keeps_switching_shows_anything_between_on_and_off() -> None:
    """With some ohms in its feed the box falls silent, has enough again, fires again: a meter shows what it likes."""
    found = detective(BOX, "riding")
    outcome = found.predictions.outcomes["wire 2"]
    rows = found.predictions.joints.of(outcome)
    assert rows is not None
    index = found.point.flow.network.index["COIL.15"]
    volts = np.sort(rows.stacks[:, 0, index])
    assert float(np.diff(volts).max()) < 1.0  # nowhere further apart than two readings may be and agree
    for reading in ("12 V", "9 V", "7 V", "5.5 V"):
        assert ("KEY 30-15", "high resistance") in keys(asked(found, f"COIL dim, {reading} at COIL.15")), reading


def test_no_figure_is_stated_of_what_keeps_switching() -> None:
    """The volts between on and off are no prediction: what rests is stated in figures, the rest as what it is."""
    found = detective(BOX, "riding")
    harness = found.point.circuit.harness
    joint = found.predictions.joints.of(found.predictions.outcomes["KEY 30-15"])
    assert joint is not None
    assert joint.chatters == ("BOX",)
    index = found.point.flow.network.index
    lit = np.abs(joint.stacks[:, 0, index["COIL.15"]] - joint.stacks[:, 0, index["COIL.1"]])
    falling = (lit > 1.0) & (lit < 8.0)
    assert falling.any()
    assert joint.unsteady[falling].all()  # while it rests the coil has 8.3 V or more, or nothing

    dim = " ".join(inquiry_text(asked(found, "COIL dim"), harness, "riding").split())
    assert (
        "wire 2, KEY 30-15: high resistance, one of these in series explains COIL dim: 8.3 to 13.2 V across "
        "COIL.primary instead of 14.0 V, or no steady voltage where BOX chatters" in dim
    )
    assert (
        "wire 3: high resistance explains COIL dim: 1.8 to 13.2 V across COIL.primary instead of 14.0 V 5" in dim
    )  # nothing chatters with a joint behind the box's own feed
    assert "over 0.4 V 1 (predicts 0.9 to 5.8 V, or no steady voltage where BOX chatters)" in dim

    between = " ".join(inquiry_text(asked(found, "COIL dim, 5.5 V at COIL.15"), harness, "riding").split())
    assert "no steady voltage across COIL.primary instead of 14.0 V: BOX chatters" in between
    assert "predicts no steady voltage at COIL.15: BOX chatters" in between


def test_a_joint_that_stops_the_engine_is_read_with_the_engine_stopped() -> None:
    """The coil takes nothing then, so the volts behind the joint rise again though its lamp of the box is out."""
    found = detective(BOX, "riding")
    assert "KEY 30-15" in found.predictions.still
    diagnosis = asked(found, "COIL dead, 12.6 V at KEY.30, 11 V at KEY.15")
    assert ("KEY 30-15", "high resistance") in keys(diagnosis)


def test_ohms_that_find_no_solution_are_told_and_acquit_nobody(monkeypatch: pytest.MonkeyPatch) -> None:
    of = Propagation.of

    def lost(self: Propagation, damages: Sequence[Damage], start: Memory | None = None) -> list[After]:
        """Nothing above 2 ohm in wire 4 is solved."""
        return [
            After(each.damage, problem="none")
            if any(branch.key == "wire 4" and ohms > 2.0 for branch, ohms in each.damage.resisting)
            else each
            for each in of(self, damages, start)
        ]

    monkeypatch.setattr(Propagation, "of", lost)
    found = Diagnoser(Sweep(Operation(build_circuit(read_text(BOX, "bike.loom").harness))), "riding")
    assert asked(found, "COIL live").unsolved == ("wire 4 high resistance",)
    acquitted = asked(found, "COIL dim, 9 V at COIL.15")
    assert "wire 4" not in {key for key, _ in keys(acquitted)}
    assert acquitted.unsolved == ("wire 4 high resistance",)
    suspected = asked(found, "COIL dead")
    assert ("wire 4", "open") in keys(suspected)
    assert suspected.unsolved == ()


def test_an_engine_that_stops_and_then_finds_no_rest_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """What stops it was seen running alone: nothing acquits it."""
    at = Operation.at

    def restless(self: Operation, positions: Mapping[str, str], *rest: Memory, **more: object) -> OperatingPoint:
        if positions.get("engine") == "off":
            raise UnsolvableError("BOX", "no rest")
        return at(self, positions, *rest, **more)  # type: ignore[arg-type]

    reading = read_text(BOX, "bike.loom")
    operation = Operation(build_circuit(reading.harness))
    found = Diagnoser(Sweep(operation), "riding")
    monkeypatch.setattr(Operation, "at", restless)
    unsolved = asked(found, "COIL live").unsolved
    assert "KEY 30-15 open" in unsolved
    assert "KEY 30-15 high resistance" in unsolved
    assert not {"wire 7 open", "wire 8 high resistance"} & set(unsolved)  # the alternator off does not stop it


def test_no_reading_that_a_bad_joint_gives_is_refused() -> None:
    """A joint in the machine's return drives more there than open or sound does."""
    operation = Operation(build_circuit(read_file(SPECS / "stock.loom").harness))
    found = Diagnoser(Sweep(operation), "riding-main")
    outcome = found.predictions.outcomes["wire 16"]
    rows = found.predictions.joints.of(outcome)
    assert rows is not None
    index = found.point.flow.network.index
    for node in ("RECT.B-", "RECT.B+", "C-ENGINE.5p", "FRAME"):
        volts = rows.stacks[:, 0, index[node]]
        for value in (float(volts.min()), float(volts.max())):
            said = asked(found, f"IGN dim, {value:.2f} V at {node}")
            assert said.suspects, (node, value)


@pytest.mark.parametrize("wire", ["wire 1", "wire 3", "wire 4", "wire 5", "wire 70"])
def test_the_drop_of_a_bad_wire_is_read_across_it_whichever_end_is_written_first(wire: str) -> None:
    """`wire 4 BAT.- to ENGINE` carries its current from ENGINE: 1.5 V across it while cranking was refused."""
    found = stock_in("cranking" if wire in ("wire 3", "wire 4") else "lights-on")
    for text in (f"1.5 V across {wire}", f"-1.5 V across {wire}"):
        assert (wire, "high resistance") in keys(asked(found, text)), text


@pytest.mark.parametrize(
    ("seen", "most"),
    [("30 V across wire 4", "12.6 V"), ("30 V across HEAD.dip", "12.6 V"), ("30 V across KEY 30-15", "12")],
)
def test_more_than_there_is_across_anything_is_refused(seen: str, most: str) -> None:
    with pytest.raises(ObservationError, match=f"is more than there is in key-on, {most}"):
        asked(stock_in("key-on"), seen)


def test_a_relay_that_was_left_in_is_asked_as_it_stands_then() -> None:
    """From rest LAMP is dark; after START it stays lit, and nothing is wrong with that, nor with what fails then."""
    found = detective(HELD, "on")
    assert asked(found, "LAMP dead").sound
    assert asked(found, "LAMP live").sound
    diagnosis = asked(found, "LAMP dead, 12.5 V at LAMP.1")
    assert ("wire 7", "open") in keys(diagnosis)
    group = next(g for g in diagnosis.ambiguity_groups if any(s.fault.key == "wire 7" for s in g.suspects))
    assert group.history == "K still in"
    assert group.reasons[0].words == "open circuit between LAMP.2 and BAT.-"


FAINT = """loom "A lamp behind a resistor"
system 12 V negative ground
place tray
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 15 A blade at tray
resistor R 33 ohm at tray
load LAMP lamp at tray for lighting { glow 5 W: 1 2 }
load OTHER lamp at tray for lighting { glow 5 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 2.5 mm2 0.2 m
wire 2 MAIN.2 to R.1 red 1 mm2 0.2 m
wire 3 R.2 to LAMP.1 red 1 mm2 0.2 m
wire 4 LAMP.2 to BAT.- black 1 mm2 0.2 m
wire 5 MAIN.2 to OTHER.1 red 1 mm2 0.2 m
wire 6 OTHER.2 to BAT.- black 1 mm2 0.2 m
state on { }
"""


def test_what_is_dim_without_any_fault_is_dim_only_where_it_is_dimmer() -> None:
    """Whoever says that it is dim means dimmer than it was: nothing that leaves it as it was explains that."""
    found = detective(FAINT, "on")
    assert found.predictions.statuses.sound["LAMP"] == "dim"
    assert asked(found, "LAMP live").sound
    diagnosis = asked(found, "LAMP dim")
    assert not diagnosis.sound
    assert diagnosis.dim_when_sound == ("LAMP",)
    assert {("wire 2", "high resistance"), ("wire 4", "high resistance")} <= keys(diagnosis)
    assert not {"wire 5", "wire 6", "OTHER"} & {key for key, _ in keys(diagnosis)}
    assert asked(found, "OTHER dim").dim_when_sound == ()
    said = " ".join(inquiry_text(diagnosis, found.point.circuit.harness, "on").split())
    assert "Without any fault LAMP is dim too: read as dimmer than that." in said


def stock_in(state: str) -> Diagnoser:
    return diagnoser_of("stock", state)


@pytest.mark.parametrize(
    ("of", "series", "ohms"),
    [
        (lambda: detective(FAINT, "on"), ("wire 1", "MAIN", "wire 2", "wire 3", "wire 4"), 30.0),
        # the open contact of the other beam begins a separate series at DIP.56
        (
            lambda: stock_in("turning-left"),
            ("wire 20", "F-HEAD", "wire 61.1", "C-LEFT.3", "DIP 56-56b", "wire 67"),
            2.0,
        ),
    ],
    ids=["faint", "dip"],
)
def test_a_joint_shows_the_same_by_whichever_branch_of_its_series_it_is_solved(
    of: Callable[[], Diagnoser], series: tuple[str, ...], ohms: float
) -> None:
    """The volts that are lost in a joint are lost at its own place, solved alone or by the first of its series."""
    found = of()
    index, circuit = found.point.flow.network.index, found.point.circuit
    for key in series:
        rows = found.predictions.joints.of(found.predictions.outcomes[key])
        assert rows is not None
        (after,) = found.predictions.here.propagation.of([Damage(resisting=((circuit.by_key[key], ohms),))])
        assert after.volts is not None
        branch = circuit.by_key[key]
        across = rows.stacks[:, 0, index[branch.a]] - rows.stacks[:, 0, index[branch.b]]
        own = float(after.volts[index[branch.a]] - after.volts[index[branch.b]])
        near = np.argsort(np.abs(across - own))[:2]
        off = np.abs(rows.stacks[near, 0] - after.volts).max(axis=1)
        assert float(off.min()) < 0.3, key
