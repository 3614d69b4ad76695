"""Which part of the old harness is which of the new one, and which controls both have."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.records import dataclass

if TYPE_CHECKING:
    from ...lang.circuit.branch import Control
    from ...lang.circuit.circuit import Circuit
    from ...lang.model.harness import Harness
    from ...lang.model.parts import Part
    from ...lang.model.wires import Wire


@dataclass(frozen=True, slots=True)
class Label:
    """One common position: its name as the new harness has it, and the positions that it is on either side.

    A position that only one side has is compared with every position of the other.
    """

    name: str
    old: frozenset[str]
    new: frozenset[str]


@dataclass(frozen=True, slots=True)
class Common:
    """A control that both harnesses have: its name in each, and its positions, the one at rest first."""

    old: str
    new: str
    labels: tuple[Label, ...]


class Match:
    """The parts of two harnesses by what they are to each other.

    A new part is in place of the old one that ``was`` names, else of the one of the same name; it is the old one itself
    where it is ``kept``. With ``by_ends`` a part of another name is in place of the one that joins the same, too.
    """

    def __init__(self, old: Harness, new: Harness, *, by_ends: bool = False) -> None:
        self.old, self.new = old, new
        self.old_of: dict[str, str] = {}
        """New name -> old name."""
        self.new_of: dict[str, str] = {}
        """Old name -> new name; of several that replace it the first."""
        for part in new.parts.values():
            before = part.was or part.name
            if before in old.parts:
                self.old_of[part.name] = before
                self.new_of.setdefault(before, part.name)
        while by_ends and (found := alike(self)):  # what is matched lets what is beside it be matched
            self.old_of |= found
            self.new_of |= {old: new for new, old in found.items()}

    @cached_property
    def kept(self) -> tuple[tuple[Part, Part], ...]:
        """Each part that is kept, as the old and as the new harness has it, in the order of the new text."""
        return tuple(
            (self.old.parts[self.old_of[part.name]], part)
            for part in self.new.parts.values()
            if part.kept and part.name in self.old_of
        )

    @cached_property
    def removed(self) -> frozenset[str]:
        """The old parts that the new text calls removed."""
        return frozenset(name for removed in self.new.conversion.removed for name in removed.names)

    @cached_property
    def undecided(self) -> tuple[Part, ...]:
        """The old parts of which the new text says nothing, in the order of the old text."""
        return tuple(
            part for name, part in self.old.parts.items() if name not in self.new_of and name not in self.removed
        )

    def declared(self, how: str, *names: str) -> str:
        """The reason that ``changes`` or ``loses`` gives for one of these names; empty where none is declared."""
        for each in self.new.conversion.declared:
            if each.how == how and any(name in each.names for name in names):
                return each.because
        return ""


def alike(match: Match) -> dict[str, str]:
    """Parts without a counterpart that join the same: new name -> old name, where one of either side alone does.

    What the new text calls removed is no counterpart.
    """
    gone = [part for name, part in match.old.parts.items() if name not in match.new_of and name not in match.removed]
    come = [part for part in match.new.parts.values() if part.name not in match.old_of]
    before = _by_ends(match.old, gone, {name: name for name in match.new_of})
    now = _by_ends(match.new, come, match.old_of)
    return {now[key][0]: names[0] for key, names in before.items() if len(names) == 1 and len(now.get(key, ())) == 1}


Ends = tuple[str, frozenset[tuple[str, str]]]


def _by_ends(harness: Harness, parts: Sequence[Part], names: Mapping[str, str]) -> dict[Ends, list[str]]:
    """Parts by their kind and by what each of their terminals is wired to: by its old name where it has a counterpart,
    else by its kind.
    """
    met: dict[str, set[tuple[str, str]]] = {part.name: set() for part in parts}
    for wire in harness.wires.values():
        for end, other in ((wire.a, wire.b), (wire.b, wire.a)):
            if end.part in met:
                beyond = names.get(other.part, f"some {harness.parts[other.part].kind}")
                met[end.part].add((end.terminal, f"{beyond}.{other.terminal}"))
    found: dict[Ends, list[str]] = {}
    for part in parts:
        if any(not beyond.startswith("some ") for _, beyond in met[part.name]):
            found.setdefault((part.kind, frozenset(met[part.name])), []).append(part.name)
    return found


def wire_pairs(match: Match) -> dict[str, str]:
    """New name -> old name: what ``was`` says; the same name and ends; the same ends; else the same name, where one end
    at least is the same.
    """
    old_ends = {wire.name: wire_ends(wire, {}) for wire in match.old.wires.values()}
    new_ends = {wire.name: wire_ends(wire, match.old_of) for wire in match.new.wires.values()}
    pairs = {w.name: w.was for w in match.new.wires.values() if w.was in old_ends and w.was is not None}
    taken = set(pairs.values())
    for name, ends in new_ends.items():
        if name not in pairs and name not in taken and old_ends.get(name) == ends:
            pairs[name] = name
            taken.add(name)
    for name, ends in new_ends.items():
        if name not in pairs:
            same = next((old for old, other in old_ends.items() if other == ends and old not in taken), None)
            if same is not None:
                pairs[name] = same
                taken.add(same)
    for name, ends in new_ends.items():
        if name not in pairs and name not in taken and ends & old_ends.get(name, frozenset()):
            pairs[name] = name
            taken.add(name)
    return pairs


def wire_ends(wire: Wire, names: Mapping[str, str]) -> frozenset[str]:
    """The two ends of a wire, its parts by these names."""
    return frozenset(f"{names.get(end.part, end.part)}.{end.terminal}" for end in (wire.a, wire.b))


def common_controls(match: Match, old: Circuit, new: Circuit) -> tuple[Common, ...]:
    """The controls that both harnesses have: sensed quantities by quantity, all others by the part that they are."""
    found = []
    for control in new.controls.values():
        before = old.controls.get(_old_control(match.old_of, control))
        if before is not None and not control.free and not before.free:
            found.append(Common(before.name, control.name, labels_of(before, control)))
    return tuple(found)


def _old_control(old_of: Mapping[str, str], control: Control) -> str:
    if control.sensed is not None or control.name == "engine":
        return control.name
    return old_of.get(control.name, control.name)


def paired_positions(old: Control, new: Control) -> dict[str, str]:
    """The positions that a control has on both sides, new -> old: by name; where these differ at rest, rest by rest."""
    same = {position: position for position in new.positions if position in old.positions}
    if old.rest not in same.values() and new.rest not in same:
        same[new.rest] = old.rest
    return same


def labels_of(old: Control, new: Control) -> tuple[Label, ...]:
    """The positions of a control that both harnesses have, and those that one of them has."""
    same = paired_positions(old, new)
    labels = [Label(now, frozenset({before}), frozenset({now})) for now, before in same.items()]
    every_old, every_new = frozenset(old.positions), frozenset(new.positions)
    labels += [Label(p, every_old, frozenset({p})) for p in new.positions if p not in same]
    labels += [Label(p, frozenset({p}), every_new) for p in old.positions if p not in same.values()]
    return tuple(sorted(labels, key=lambda label: new.rest not in label.new or len(label.new) > 1))
