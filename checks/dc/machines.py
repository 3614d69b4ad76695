"""Machines that give current: what they need to begin, what their own fields take, where their regulators sense."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.ids import BranchId, End, field_of
from ...lang.model.parts import Rectifier, Regulator, Source
from ...lang.search.walks import closure
from . import devices as elements
from .devices import Rated
from .topology import Topology, Ways

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from ...lang.circuit.branch import Supply
    from ...lang.circuit.circuit import Circuit


class Machines:
    """The machines of one circuit; ``like``: those of a harness that it comes from by taking something out."""

    def __init__(self, topology: Topology, rated: Mapping[str, Rated], like: Machines | None = None) -> None:
        self.topology = topology
        self.circuit = topology.circuit
        self._rated = rated
        self._like = like

    def gives(self, supply: Supply, conducting: frozenset[str]) -> bool:
        """Whether a machine that turns can give anything: at least two of its phases have their alternator, since
        between two of them there is a voltage, and the field that it excites itself by is whole and at its poles.
        """
        own = self.own_windings.get(supply.name)
        if own is not None and own not in self.circuit.by_key:
            return False
        if supply.phases:
            phases, stators, surely = self._phases[supply.name]
            if not surely and sum(self.topology.reaches(conducting, phase, stators) for phase in phases) < 2:
                return False
        return all(
            self.topology.reaches(conducting, end, (pole,)) for end, pole in self.own_fields.get(supply.name, ())
        )

    @cached_property
    def own_windings(self) -> dict[str, BranchId]:
        """For each dynamo the field winding that it has in the whole harness: without it, it gives nothing."""
        if self._like is not None:
            return self._like.own_windings
        parts = self.circuit.harness.parts
        dynamos = (
            p for s in self.circuit.supplies if isinstance(p := parts.get(s.name), Source) and p.what == "dynamo"
        )
        return {p.name: key for p in dynamos if (key := field_of(p.name)) in self.circuit.by_key}

    @cached_property
    def own_fields(self) -> dict[str, Ways]:
        """For each dynamo the ends of its field, and the poles that these are connected to in the whole harness.

        One whose field goes elsewhere is taken at its word; where an end goes nowhere it is to reach some pole.
        """
        if self._like is not None:
            return self._like.own_fields
        of = self.topology.nets.of
        found: dict[str, Ways] = {}
        for supply in self.circuit.supplies:
            part = self.circuit.harness.parts.get(supply.name)
            if not isinstance(part, Source) or part.what != "dynamo" or part.field_winding is None:
                continue
            ends = End(part.name, part.field_winding.plus), End(part.name, part.field_winding.minus)
            for poles in ((supply.plus[0], supply.minus), (supply.minus, supply.plus[0])):
                pairs = tuple(zip(ends, poles, strict=True))
                if all(of[end] == of[pole] or len(self.topology.nets.nodes[of[end]]) == 1 for end, pole in pairs):
                    found[supply.name] = pairs
        return found

    @cached_property
    def _phases(self) -> dict[str, tuple[tuple[str, ...], tuple[str, ...], bool]]:
        """For each rectifier its phases, the ends of all stators, and whether nothing can part the two."""
        stators = self.stators
        return {
            s.name: (s.phases, stators, sum(self.topology.reaches(frozenset(), p, stators) for p in s.phases) >= 2)
            for s in self.circuit.supplies
            if s.phases
        }

    @cached_property
    def fields(self) -> dict[str, tuple[BranchId, ...]]:
        """For each machine the fields of which one must be fed first; none where it excites itself.

        A rectifier on an alternator of permanent magnets has no field, whatever else the harness holds.
        """
        found = {}
        for supply in self.circuit.supplies:
            if supply.kind == "machine":
                magnets = supply.phases and any(p.field_winding is None for p in self.alternators[supply.name])
                found[supply.name] = () if magnets else supply.field_keys
        return found

    @cached_property
    def alternators(self) -> dict[str, tuple[Source, ...]]:
        """For each rectifier the alternators that its phases are on in the whole harness, in any position of the
        contacts; all of them where they are on none.
        """
        if self._like is not None:
            return self._like.alternators
        parts = self.circuit.harness.parts.values()
        every = tuple(p for p in parts if isinstance(p, Source) and (p.phases or p.windings))
        found = {supply.name: every for supply in self.circuit.supplies if supply.phases}
        if len(every) > 1:
            for supply in (s for s in self.circuit.supplies if s.phases):
                met = self._joined_to(supply.phases)
                own = tuple(p for p in every if any(self.topology.nets.of.get(e) in met for e in _stator_ends(p)))
                found[supply.name] = own or every
        return found

    def _joined_to(self, ends: Iterable[End]) -> set[int]:
        """The nets that contacts, in any position, join to some terminals past no ground."""
        of = self.topology.nets.of
        near: dict[int, list[int]] = {}
        for edge in self.topology.nets.switched:
            if edge.both:
                near.setdefault(edge.a, []).append(edge.b)
                near.setdefault(edge.b, []).append(edge.a)
        ground = of.get(self.circuit.ground)
        return set(closure([of[end] for end in ends], lambda net: near.get(net, ()) if net != ground else ()))

    @cached_property
    def field_siemens(self) -> dict[str, float]:
        """For each machine, what its own field takes a volt."""
        parts = self.circuit.harness.parts
        found = {}
        for supply in self.circuit.supplies:
            own = parts.get(supply.name)
            keys = set(self.fields.get(supply.name, ()))
            if isinstance(own, Source) and own.field_winding is not None:
                keys.add(field_of(own.name))
            ohms = [self._rated[key].ohms for key in keys if key in self._rated]
            found[supply.name] = sum(1.0 / each for each in ohms if each)
        return found

    @cached_property
    def senses(self) -> tuple[tuple[str, str, str], ...]:
        """For each machine whose regulator senses elsewhere: its name, the sense terminal and the one it is held to."""
        circuit = self.circuit
        found = []
        for supply in circuit.supplies:
            if not self.may_sense(supply):
                continue
            regulator = self._regulator(supply)
            if regulator is not None and regulator.sense:
                top, bottom = (End(regulator.name, terminal) for terminal in regulator.sense)
                found.append((supply.name, top, bottom))
        return tuple(found)

    def may_sense(self, supply: Supply) -> bool:
        """Whether a regulator may hold the volts of a machine by its field."""
        own = self.circuit.harness.parts.get(supply.name)
        has_field = isinstance(own, Source) and own.field_winding is not None
        return supply.kind == "machine" and (has_field or bool(self.fields[supply.name]))

    def _regulator(self, supply: Supply) -> Regulator | None:
        """The regulator with a sense lead that a machine's field current passes; the first one where none does."""
        circuit, nets = self.circuit, self.circuit.nets.of
        parts = circuit.harness.parts
        sensing = [
            part
            for part in parts.values()
            if isinstance(part, Regulator) and part.sense and part.passes and part.name not in circuit.removed
        ]
        if len(sensing) < 2:
            return next(iter(sensing), None)
        own = (field_of(supply.name), *self.fields[supply.name])
        fields = [circuit.by_key[key] for key in own if key in circuit.by_key]
        ground = nets.get(circuit.ground) if circuit.ground else None
        ends = {nets[node] for field in fields for node in (field.a, field.b)} - {ground}
        for part in sensing:
            if any(nets[End(part.name, terminal)] in ends for terminal in part.passes or ()):
                return part
        return sensing[0]

    @cached_property
    def stators(self) -> tuple[str, ...]:
        """The terminals at which alternators give alternating current."""
        return tuple(
            end
            for part in self.circuit.harness.parts.values()
            if isinstance(part, Source) and part.name not in self.circuit.removed
            for end in _stator_ends(part)
        )


def _stator_ends(part: Source) -> Iterator[End]:
    """The terminals at which an alternator gives alternating current."""
    return (End(part.name, t) for t in (*part.phases, *(t for winding in part.windings for t in winding.terminals)))


def regulated_volts(circuit: Circuit) -> dict[str, float]:
    """The regulated volts of each machine, and under "" those that a battery is charged with."""
    parts = circuit.harness.parts
    regulators = [p.regulated for p in parts.values() if isinstance(p, Regulator) and p.regulated and p.passes]
    usual = regulators[0] if regulators else elements.default_regulated(circuit.harness.volts)
    own: dict[str, float] = {}
    for supply in circuit.supplies:
        part = parts.get(supply.name)
        if supply.kind == "machine" and isinstance(part, Source | Rectifier):
            own[supply.name] = part.regulated or usual
    return {**own, "": max(own.values(), default=usual)}


class Inside(End):
    """The inside of a machine, behind its several + terminals; no terminal can be called that."""

    __slots__ = ()

    def __new__(cls, supply: Supply) -> Inside:
        made = str.__new__(cls, f"{supply.name} inside")
        made.part, made.terminal = supply.part, ""
        return made
