"""Random small harnesses with a rebuild of each, and what feeds kept parts in both, one combination after the other by
the numeric solver: the judge of ``checks/conversion``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from random import Random

from ngspice import compare, netlist

from loomwright.checks.conversion.answers import Row
from loomwright.checks.conversion.comparison import Change, Comparison
from loomwright.checks.conversion.side import Side
from loomwright.checks.conversion.through_loads import SHORT, grounded_at
from loomwright.checks.dc.conducting import situation_of
from loomwright.checks.dc.devices import UnsolvableError
from loomwright.checks.dc.flow import flow_of
from loomwright.checks.dc.memory import Memory
from loomwright.checks.operation.operation import OperatingPoint, Operation
from loomwright.lang.files.reading import read_text
from loomwright.lang.model.harness import Harness

COPPER_AMPS = 40.0
"""A; more than this to ground comes by copper alone: no load here takes a quarter of it."""

HEAD = """system 12 V negative ground
place tray
source BAT battery at tray for supply{kept} {{ voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }}
fuse MAIN 20 A blade at tray{kept}
ground FRAME at tray{kept}
wire 1 BAT.+ to MAIN.1 red 4 mm2 0.2 m
wire 2 BAT.- to FRAME black 4 mm2 0.2 m
switch KEY 10 A key at tray{kept} {{ off: ; on: 30 15 }}
wire 3 MAIN.2 to KEY.30 red 4 mm2 0.2 m
"""
SWITCHES = ("A", "B", "C")
LOADS = ("L1", "L2", "L3")
NODES = tuple(f"{load}.1" for load in LOADS)
"""The terminals of kept parts that are asked about."""
Wiring = dict[str, str]
"""For each terminal that is fed, what it is wired to."""


def wiring(random: Random) -> Wiring:
    """Every contact and load on something that comes before it in a fixed order, so that no loop is closed."""
    feeds = ["MAIN.2", "KEY.15"]
    found: Wiring = {}
    for name in ("A", "B", "K", "C"):
        terminal = f"{name}.30" if name == "K" else f"{name}.1"
        found[terminal] = random.choice(feeds)
        if name == "K":
            found["K.86"] = random.choice([feed for feed in feeds if feed != "MAIN.2"])
        feeds.append(f"{name}.87" if name == "K" else f"{name}.2")
    for load in LOADS:
        found[f"{load}.1"] = random.choice(feeds)
        found[f"{load}.2"] = random.choice(["FRAME", "FRAME", "G.1"])
    return found


def text(title: str, wired: Mapping[str, str], head: str, kept: bool, renamed: Mapping[str, str]) -> str:
    """A harness; ``renamed`` has the new name of what replaces a switch, which is then the harness's own."""
    word = " kept" if kept else ""
    lines = [f'loom "{title}"', head + HEAD.format(kept=word)]
    for name in SWITCHES:
        here = renamed.get(name, name)
        lines.append(f"switch {here} 10 A at tray{word if here == name else ''} {{ open: ; closed: 1 2 }}")
    lines.append(f"switch G 10 A at tray{word} {{ open: ; closed: 1 2 }}")
    lines.append("wire 4 G.2 to FRAME black 2 mm2 0.2 m")
    lines.append(f"relay K 20 A at tray{word} {{ coil 85 ohm: 86 85; released: ; pulled: 30 87 }}")
    lines.append("wire 5 K.85 to FRAME black 2 mm2 0.2 m")
    lines += [f"load {load} lamp at tray{word} {{ lamp 21 W: 1 2 }}" for load in LOADS]
    for number, (end, other) in enumerate(wired.items(), 10):
        ends = []
        for node in (end, other):
            part, dot, terminal = node.partition(".")
            ends.append(f"{renamed.get(part, part)}{dot}{terminal}")
        lines.append(f"wire {number} {ends[0]} to {ends[1]} blue 2 mm2 0.2 m")
    return "\n".join(lines) + "\n"


def pair(seed: int) -> tuple[Harness, Harness]:
    """An old harness, and a new one in which a few wires go elsewhere and some switches are others."""
    random = Random(seed)
    old = wiring(random)
    other = wiring(random)
    new = {end: other[end] if random.random() < 0.3 else to for end, to in old.items()}
    renamed = {name: f"NEW-{name}" for name in SWITCHES if random.random() < 0.25}
    first = read_text(text("old", old, "", kept=False, renamed={}))
    again = read_text(text("new", new, "", kept=True, renamed=renamed))
    assert (first.mistakes, again.mistakes) == ((), ())
    return first.harness, again.harness


Positions = tuple[tuple[str, str], ...]


def fed(harness: Harness, common: frozenset[str], nodes: tuple[str, ...]) -> dict[tuple[Positions, str], set[bool]]:
    """For each setting of the common controls and each terminal, whether copper feeds it: every answer that the other
    controls bring about. Dead shorts are left out.
    """
    operation = Operation(Side(harness).circuit)
    found: dict[tuple[Positions, str], set[bool]] = {}
    for point in walked(operation):
        positions = point.positions
        key = tuple(sorted((name, at) for name, at in positions.items() if name in common))
        for node in nodes:
            try:
                _, amps = grounded_at(operation, point, node)
            except UnsolvableError:
                continue
            found.setdefault((key, node), set()).add(amps > COPPER_AMPS)
    return found


def walked(operation: Operation) -> Iterator[OperatingPoint]:
    """Every settled point that comes about from rest by moving one control after the other; no dead short."""
    controls = [control for control in operation.circuit.controls.values() if control.name != "engine"]
    rest = operation.at({})
    seen: set[tuple[Positions, Memory]] = set()
    queue = [rest]
    for point in queue:
        key = (tuple(point.positions.items()), point.memory)
        if point.shorted or key in seen:
            continue
        seen.add(key)
        yield point
        for control in controls:
            queue.extend(
                operation.at({**point.positions, control.name: position}, point.memory)
                for position in control.positions
                if position != point.positions[control.name]
            )


def told_by_numbers(old: Harness, new: Harness) -> set[tuple[str, Row]]:
    """How the feeds of kept terminals differ, by trying every combination."""
    common = frozenset(name for name in (*SWITCHES, "G", "KEY") if name in old.parts and name in new.parts)
    before, now = fed(old, common, NODES), fed(new, common, NODES)
    found: set[tuple[str, Row]] = set()
    for key in before.keys() & now.keys():
        row = _row(before[key], now[key])
        if row is not None:
            found.add((key[1], row))
    return found


def _row(old: set[bool], new: set[bool]) -> Row | None:
    if True in old and True not in new:
        return "lost"
    if True not in old and True in new:
        return "gained"
    if False not in old and False in new:
        return "depends"
    if False in old and False not in new:
        return "independent"
    return None


def told_by_logic(old: Harness, new: Harness) -> set[tuple[str, Row]]:
    """The same as the comparison has it, and where a terminal depends on another control than before."""
    comparison = Comparison(Side(old), Side(new))
    return {(change.what, change.difference.row) for change in _changes(comparison)}


def _changes(comparison: Comparison) -> Iterator[Change]:
    for old, new in comparison.match.kept:
        if new.name in LOADS:
            for change in comparison.changes(old, new):
                if change.sort == "fed" and change.what.endswith(".1"):
                    yield change


def disagreement(seed: int) -> str:
    """How logic and numbers disagree about one pair; empty where they do not.

    Where something may work on what comes through other loads, logic owes the two-sided answer only: it is enough that
    no terminal that numbers find changed is passed in silence.
    """
    old, new = pair(seed)
    numbers, logic = told_by_numbers(old, new), told_by_logic(old, new)
    if any(Side(harness).logic.network.doubts for harness in (old, new)):
        silent = {what for what, _ in numbers} - {what for what, _ in logic}
        return f"pair {seed}: numbers alone find {sorted(silent)} changed" if silent else ""
    logic = {(what, row) for what, row in logic if row != "instead"}
    if numbers == logic:
        return ""
    return f"pair {seed}: numbers alone {sorted(numbers - logic)}, logic alone {sorted(logic - numbers)}"


def told_by_ngspice(program: str, seed: int, every: int) -> tuple[list[str], int]:
    """Where ngspice finds other volts or amps than the solver by which a pair is judged, with a kept terminal put on
    ground, at one point in ``every`` of each harness; and how many circuits it solved.
    """
    wrong, count = [], 0
    for harness in pair(seed):
        operation = Operation(Side(harness).circuit)
        for point in list(walked(operation))[seed % every :: every]:
            for node in NODES:
                other = operation.damaged(frozenset(), node)
                setpoints = {name: volts for name, volts in other.network.regulated.items() if name}
                short = flow_of(other.network, situation_of(other.network, point.positions, point.memory, setpoints))
                assert SHORT in netlist(other.circuit, short.situation).devices
                _, amps = grounded_at(operation, point, node)
                solved = abs(short.amps[SHORT])
                if abs(amps - solved) > max(1e-3, 1e-3 * amps):
                    wrong.append(f"pair {seed}, {node}: {amps:.6g} A, and {solved:.6g} A with the short in")
                wrong += [f"pair {seed}, {node}: {said}" for said in compare(program, other.circuit, short)]
                count += 1
    return wrong, count
