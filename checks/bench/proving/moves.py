"""Stage 3 (c): each control there and back, from key on. What a move changes is looked at, or else measured."""

from __future__ import annotations

from collections.abc import Container, Iterator
from typing import TYPE_CHECKING, Final

from ....lang.circuit.ids import End
from ....lang.model.parts import Load, Relay
from ....lang.named_tuples import NamedTuple
from ...logic.part_predicates import is_ignition
from ...tables.proving import proving

if TYPE_CHECKING:
    from ....lang.circuit.branch import Control
    from ...operation.operation import Operation
    from .moments import FirstPower
    from .motorcycle import Motorcycle, Positions
    from .watching import Watched

SHEET: Final = "each control there and back"
TELLS: Final = 0.3
"""Of the system's voltage by which a terminal must change to tell a move (ours)."""


class Move(NamedTuple):
    """What is before and after a control is moved; ``stops``: to where it must stop the engine."""

    before: Watched
    after: Watched
    stops: bool


def move_rows(
    power: FirstPower, operation: Operation, base: Positions, only: Container[tuple[str, str]] | None = None
) -> None:
    """The rows, put to those of ``power``; ``base``: the positions of the controls between the moves, of which those
    of ``only``. While the engine runs none stops it: each stop has a row by itself.
    """
    motorcycle = power.motorcycle
    runs = base["engine"] != "off"
    start = power.solved(operation, base)
    if start is None:
        power.untold.append("key on: no operating point")
        return
    if not runs:
        power.look(start, "key on", motorcycle.setting(base), standing(start))
    moves = _Moves(power, operation, base)
    for control in motorcycle.hands:
        here = start
        for position in control.positions:
            if position == base[control.name] or (only is not None and (control.name, position) not in only):
                continue
            if runs and motorcycle.stops(control, position):
                continue
            if control is motorcycle.gearbox and runs:
                power.untold.append(f"{motorcycle.position(control, position)}: not selected while the engine runs")
                continue
            if moves.count >= proving("most_moves"):
                power.dropped.append(motorcycle.position(control, position))
                continue
            here = moves.made(control, position, here, start)


class _Moves:
    """The moves of one motorcycle from ``base``; ``count`` of them so far."""

    def __init__(self, power: FirstPower, operation: Operation, base: Positions) -> None:
        self.power = power
        self.motorcycle = power.motorcycle
        self.operation = operation
        self.base = base
        self.sheet = SHEET if base["engine"] == "off" else f"engine running, {SHEET}"
        self.count = 0

    def made(self, control: Control, position: str, here: Watched, start: Watched) -> Watched:
        """One position of a control; what then stays as it was left is where its next position begins."""
        self.count += 1
        move = self._from(control, position, here)
        starts = self._starts(control)
        if starts and move is not None and not changed(move):
            self._must_not_crank(control, position, move.after)
        if move is None or not (changed(move) or (not starts and self._told_by(move) is not None)):
            move = self._elsewhere(control, position)
        if move is None:
            self.power.untold.append(no_effect(self.motorcycle, control, position))
            return start
        self._row(control, position, move)
        if move.before is not here:
            return start
        back = self._from(control, self.base[control.name], move.after)
        return start if back is None else back.after

    def _from(self, control: Control, position: str, before: Watched) -> Move | None:
        moved = {**before.point.positions, control.name: position}
        after = self.power.solved(self.operation, moved, before.point.memory)
        return None if after is None else Move(before, after, self.motorcycle.stops(control, position))

    def _elsewhere(self, control: Control, position: str) -> Move | None:
        """Where moving it changes something that is seen, as few others moved as may be; else what is measured."""
        second: Move | None = None
        for positions in self._contexts(control):
            context = self.power.solved(self.operation, {**positions, control.name: self.base[control.name]})
            move = None if context is None else self._from(control, position, context)
            if move is None:
                continue
            if changed(move):
                return self._fewest(control, position, move)
            if second is None and self._told_by(move) is not None:
                second = move
        return None if second is None else self._fewest(control, position, second)

    def _fewest(self, control: Control, position: str, move: Move) -> Move:
        """The same with every other control back that it does without, so that nobody moves one for nothing."""
        for name, at in self.base.items():
            positions = dict(move.before.point.positions)
            if name == control.name or positions[name] == at:
                continue
            context = self.power.solved(self.operation, {**positions, name: at})
            fewer = None if context is None else self._from(control, position, context)
            if fewer is not None and (changes(fewer), self._told_by(fewer)) == (changes(move), self._told_by(move)):
                move = fewer
        return move

    def _contexts(self, control: Control) -> Iterator[Positions]:
        """The positions of the others: as in a named state, the nearest first, or one of them moved."""
        base = self.base
        running = base["engine"] != "off"  # then it stays in neutral
        others = [
            other
            for other in self.motorcycle.hands
            if other is not control and not other.key and not (running and other is self.motorcycle.gearbox)
        ]
        keys = [other.name for other in self.motorcycle.hands if other.key and other is not control]
        named = [{**positions, "engine": base["engine"]} for positions in self.motorcycle.named]
        named = [self.motorcycle.in_neutral(positions) for positions in named] if running else named
        named = [positions for positions in named if all(positions[key] == base[key] for key in keys)]
        yield from sorted(named, key=lambda positions: sum(positions[name] != base[name] for name in base))
        yield from ({**base, other.name: at} for other in others for at in other.positions if at != base[other.name])

    def _told_by(self, move: Move) -> End | None:
        """A terminal that tells a move which nobody sees: of one that must stop the engine at the ignition; else a
        relay's output, or the feed of what turns on or off.
        """
        if move.stops and (end := self._of_ignition(move)) is not None:
            return end
        before, after = move.before, move.after
        for name in sorted(before.point.memory.pulled ^ after.point.memory.pulled):
            part = self.motorcycle.harness.parts[name]
            for end in (End(name, t) for pair in part.pulled for t in pair[::-1]) if isinstance(part, Relay) else ():
                if self._differs(move, end):
                    return end
        for key, word in before.words.items():
            if {word, after.words.get(key)} == {"live", "dead"}:
                branch = self.motorcycle.circuit.by_key[key]
                for end in (branch.a, branch.b):
                    if self._differs(move, end):
                        return end
        return None

    def _of_ignition(self, move: Move) -> End | None:
        """The feed of the ignition that tells it: of what turns on or off, else of what waits for the engine."""
        parts, before, after = self.motorcycle.harness.parts, move.before, move.after
        sparks = [b for b in self.motorcycle.circuit.branches if b.part in parts and is_ignition(parts[b.part])]
        turned = [b for b in sparks if {before.words.get(b.key), after.words.get(b.key)} == {"live", "dead"}]
        ends = (end for b in (*turned, *sparks) for end in (b.a, b.b) if before.point.connectivity.fed(end))
        return next((end for end in ends if self._differs(move, end)), None)

    def _differs(self, move: Move, end: End) -> bool:
        return abs(move.after.point.volts(end) - move.before.point.volts(end)) > TELLS * self.motorcycle.harness.volts

    # --- rows
    def _row(self, control: Control, position: str, move: Move) -> None:
        do = self._do(control, position, move.before)
        if changed(move):
            self.power.look(move.after, self.sheet, do, changes(move), control.switches, differing(move))
            return
        end = self._told_by(move)
        if end is not None:
            self.power.to_ground(move.after, self.sheet, do, end, control.switches)

    def _do(self, control: Control, position: str, before: Watched) -> str:
        others = {**before.point.positions, control.name: self.base[control.name]}
        gearbox = self.motorcycle.gearbox
        gear = "" if control is gearbox else self.motorcycle.gear(others)
        if gearbox is not None:
            others[gearbox.name] = self.base[gearbox.name]  # that is stated by itself
        moved = self.motorcycle.said(others, self.base)
        name = " and ".join(control.switches)
        what = f"hold {name} at {position}, then release" if control.momentary else f"{name} to {position}, and back"
        where = ", ".join(word for word in (gear, f"with {moved}" if moved else "") if word)
        return f"{where}: {what}" if where else what

    def _must_not_crank(self, control: Control, position: str, after: Watched) -> None:
        """In gear, with the clutch out and the stand down, the starter must stay dead."""
        ends = [end for b in self.motorcycle.starter_cables for end in (b.a, b.b)]
        ends = [end for end in ends if not isinstance(self.motorcycle.harness.parts[end.part], Load)]
        if ends:
            do = f"{self._do(control, position, after)}: the starter must not crank"
            self.power.to_ground(after, self.sheet, do, ends[0], control.switches)

    def _starts(self, control: Control) -> bool:
        parts = self.motorcycle.harness.parts
        return control.momentary and any(parts[name].system == "starting" for name in control.switches)


def no_effect(motorcycle: Motorcycle, control: Control, position: str) -> str:
    """The words for a move that nothing tells."""
    return f"{motorcycle.position(control, position)}: no effect to see or measure"


def changed(move: Move) -> bool:
    """Whether somebody sees it."""
    return move.before.lit != move.after.lit


def differing(move: Move) -> frozenset[str]:
    """The names of what ``changes`` speaks of."""
    before, after = move.before.lit, move.after.lit
    return frozenset(name for name, word in after.items() if before.get(name) != word)


def changes(move: Move) -> str:
    """``on: REAR.stop; out: WARN.neutral``."""
    before, after = move.before.lit, move.after.lit
    on = [name for name, word in after.items() if word != "dead" and before.get(name) == "dead"]
    dim = [name for name, word in after.items() if word == "dim" and before.get(name) == "live"]
    bright = [name for name, word in after.items() if word == "live" and before.get(name) == "dim"]
    out = [name for name, word in after.items() if word == "dead" and before.get(name) != "dead"]
    return _told(("on", on), ("dimmer", dim), ("brighter", bright), ("out", out))


def standing(watched: Watched) -> str:
    """Everything that is on, in words."""
    on = [name for name, word in watched.lit.items() if word == "live"]
    dim = [name for name, word in watched.lit.items() if word == "dim"]
    said = _told(("on", on), ("dim", dim))
    return f"{said}; all else off" if said else "everything is off"


def _told(*told: tuple[str, list[str]]) -> str:
    return "; ".join(f"{word}: {', '.join(names)}" for word, names in told if names)
