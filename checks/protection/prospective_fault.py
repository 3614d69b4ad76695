"""Dead shorts: the current at the far end of each feed, what opens, and what the wires of the loop withstand till then.

The smallest current counts, since a device is slowest at it: conductors as hot as their class allows, the return of the
consumers beyond included. At most one thing is shorted at a time.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cached_property

from ...lang.circuit.branch import Branch, Supply
from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.circuit import Circuit
from ...lang.circuit.ids import End
from ...lang.model.parts import Fuse, Ground, Source, UnitOutput
from ...lang.records import dataclass
from ...lang.search.cheapest import nearest
from ...lang.search.walks import back
from ..tables.conductors import insulation_class, resistance_per_metre
from ..tables.device_constants import termination_ohms
from ..tables.fuses import continuous_amps, opening, opening_points
from ..tables.short_time import short_time, withstand_i2t
from .protection import Protection
from .sustained_fault import is_device


@dataclass(frozen=True, slots=True)
class Device:
    """A fuse or an output that trips on the way of a short: when it opens at the latest, and the greatest I2t in A2s
    that it passes at that current or any greater one. ``seconds`` is ``None`` where nothing is published for it.
    ``read``: whether the time was read somewhere, and is not from memory. ``certain``: the I2t by what was read alone.
    """

    name: str
    part: str
    rating: float
    seconds: float | None
    i2t: float
    read: bool = True
    certain: float = 0.0


@dataclass(frozen=True, slots=True)
class ProspectiveFault:
    """A dead short at the far end of a piece of wire.

    ``amps``: the current; ``back``: where it returns. ``devices`` on its way, the one that opens first in front.
    ``loop``: every wire that the current flows through.
    """

    wire: Branch
    at: str
    back: str
    amps: float
    devices: tuple[Device, ...]
    loop: tuple[Branch, ...]
    path: tuple[str, ...]

    @property
    def seconds(self) -> float | None:
        """How long it lasts at most; ``None`` where no device on its way has a published time."""
        return min((device.seconds for device in self.devices if device.seconds is not None), default=None)

    @property
    def certain(self) -> bool:
        """Whether the figures of the device that opens first were read: a row from memory makes no error alone."""
        return self.devices[0].read

    @property
    def i2t(self) -> float:
        """The I2t in A2s that flows at most, for this short or one nearer to the source."""
        return min((device.i2t for device in self.devices), default=math.inf)


@dataclass(frozen=True, slots=True)
class _Step:
    """How a node is reached with least resistance: from where, by what, and the ohms in all."""

    ohms: float
    by: Branch | None


class ProspectiveFaults:
    """All dead shorts of one circuit."""

    def __init__(self, circuit: Circuit, protection: Protection) -> None:
        self.circuit = circuit
        self.protection = protection

    @cached_property
    def battery(self) -> tuple[float, float] | None:
        """V and ohm of the battery that feeds, or of the row of them in series; ``None`` where a number is missing."""
        batteries = [s for s in self.protection.sources if s.kind == "battery"]
        feeding = [s for s in batteries if not self._is_inner(s, batteries)]
        if not feeding or self.protection.shorted:
            return None
        rows = [self._row(first, batteries) for first in feeding]
        known = [(volts, ohms) for volts, ohms in rows if volts and ohms]
        if len(known) < len(rows):
            return None
        return min(known, key=lambda row: row[0] / row[1])

    def _is_inner(self, supply: Supply, batteries: list[Supply]) -> bool:
        """Whether another battery is in series between this one and the loads."""
        pole = self.protection.feed_pole(supply)
        return any(self.protection.same_net(pole, self.protection.return_pole(b)) for b in batteries if b is not supply)

    def _row(self, first: Supply, batteries: list[Supply]) -> tuple[float | None, float | None]:
        volts, ohms, row = 0.0, 0.0, [first]
        while True:
            part = self.circuit.harness.parts[row[-1].name]
            if not isinstance(part, Source) or part.volts is None or part.ohms is None:
                return None, None
            volts, ohms = volts + part.volts, ohms + part.ohms
            pole = self.protection.return_pole(row[-1])
            below = [
                b for b in batteries if b not in row and self.protection.same_net(pole, self.protection.feed_pole(b))
            ]
            if not below:
                return volts, ohms
            row.append(below[0])

    @cached_property
    def _feed(self) -> dict[End, _Step]:
        poles = [self.protection.feed_pole(s) for s in self.protection.sources if s.kind == "battery"]
        return self._least(poles, self.protection.feeds, outward=True)

    @cached_property
    def _return(self) -> dict[End, _Step]:
        poles = [self.protection.return_pole(s) for s in self.protection.sources if s.kind == "battery"]
        others = frozenset(self.circuit.ends) - self.protection.feeds
        return self._least([p for p in poles if p in others], others, outward=False)

    def _least(self, poles: list[End], inside: frozenset[End], *, outward: bool) -> dict[End, _Step]:
        """The ways of least resistance from the poles to every node ``inside``."""

        def step(node: str) -> Iterator[tuple[End, Branch]]:
            return ((far, by) for far, by in self.protection.steps(node, outward=outward) if far in inside)

        found = nearest(sorted(poles), step, lambda ohms, branch: ohms + self._ohms(branch))
        return {node: _Step(ohms, by) for node, ohms, by in found}

    def _ohms(self, branch: Branch) -> float:
        """Ohms of what a short flows through; a conductor as hot as its class allows."""
        from ..dc.devices import rated
        from ..tables.device_constants import laws

        segment = branch.segment
        if segment is not None:
            if segment.size is None or segment.length is None:
                return 0.0
            hot = insulation_class(segment.wire_class).highest
            ends = 2.0 * termination_ohms(segment.size.area, hot)
            return resistance_per_metre(segment.size.area, hot) * segment.length + ends
        if branch.branch_type in (BranchType.DIODE, BranchType.LEG, BranchType.CUT_OUT):
            return laws().diode_ohms
        if isinstance(branch.item, UnitOutput):
            amps = branch.item.trips or branch.item.amps
            return laws().output_volts / amps if amps else 0.0
        return rated(branch, self.circuit).ohms or 0.0

    def _back(self, steps: dict[End, _Step], node: End) -> list[Branch]:
        """The branches on the way to a node, from the pole on."""
        return list(back(lambda there: steps[there].by, node, Branch.other_end))[::-1]

    def _back_from(self, node: End) -> End | None:
        """Where a short at a feed node returns: of the consumers that it feeds, by the return path with most
        resistance; where none does, by the body of metal with most.
        """
        backs = [
            end
            for branch in self.circuit.at.get(node, ())
            if branch.branch_type.consumes
            for end in (branch.a, branch.b)
            if end in self._return
        ]
        return max(backs, key=lambda end: (self._return[end].ohms, end), default=self._any_ground)

    @cached_property
    def _any_ground(self) -> End | None:
        bodies = (End(part.name) for part in self.circuit.harness.parts.values() if isinstance(part, Ground))
        grounds = [body for body in bodies if body in self._return]
        return max(grounds, key=lambda name: (self._return[name].ohms, name), default=None)

    def shorts(self) -> Iterator[ProspectiveFault]:
        """A dead short at the far end of every protected feed that a battery reaches, in the order of the text.

        Cranking conductors are judged otherwise. Nothing comes where the battery's volts or ohms are not written.
        """
        if self.battery is None:
            return
        volts, inside = self.battery
        for sustained_fault in self.protection.sustained_faults.values():
            wire = sustained_fault.conductor
            if not sustained_fault.devices or wire.key in self.protection.cranking_path.feed:
                continue
            ends = [end for end in (wire.a, wire.b) if end in self._feed]
            if not ends:
                continue
            at = max(ends, key=lambda end: self._feed[end].ohms)
            back = self._back_from(at)
            if back is None:
                continue
            amps = volts / (inside + self._feed[at].ohms + self._return[back].ohms)
            out, home = self._back(self._feed, at), self._back(self._return, back)
            devices = [self._device(b, amps, volts / inside) for b in (*out, *home) if is_device(b)]
            known = [device for device in devices if device is not None]
            if len(known) < len(devices) or not known:
                continue
            known.sort(key=lambda device: math.inf if device.seconds is None else device.seconds)
            names = [branch.owner for branch in (*out, *reversed(home))]
            loop = {b.key: b for b in (*out, *home, wire) if b.segment is not None}
            path = tuple(name for i, name in enumerate(names) if i == 0 or names[i - 1] != name)
            yield ProspectiveFault(wire, at, back, amps, tuple(known), tuple(loop.values()), path)

    def _device(self, branch: Branch, amps: float, most: float) -> Device | None:
        """A device on the way of a short of ``amps`` A, of ``most`` A right at the battery; ``None`` without a rating.

        An output that trips or limits does so at once above its figure (ours: no times are published for them).
        """
        if isinstance(branch.item, UnitOutput):
            trips = branch.item.passes_at_most or 0.0
            opens = amps > trips
            return Device(branch.key, branch.part, trips, 0.0 if opens else math.inf, 0.0 if opens else math.inf)
        part = self.circuit.harness.parts[branch.part]
        rating = continuous_amps(part.amps, part.blows) if isinstance(part, Fuse) else None
        if not isinstance(part, Fuse) or not rating:
            return None
        found = opening(part.form, rating, amps)
        seconds, read = found.most, found.cited is None or not found.cited.from_memory
        clearing = self.protection.profile.clearing_seconds
        if seconds is None or seconds > clearing:
            return Device(branch.key, branch.part, rating, seconds, math.inf, read)
        forms = (part.form,) if part.form else ("blade", "glass")
        passed = [
            ((point.multiple * rating) ** 2 * point.most, not point.cited.from_memory)
            for form in forms
            for point in opening_points(form, rating)
            if amps <= point.multiple * rating <= most and point.most <= clearing
        ]
        passed.append((amps**2 * seconds, read))
        certain = max((i2t for i2t, was_read in passed if was_read), default=0.0)
        return Device(branch.key, branch.part, rating, seconds, max(i2t for i2t, _ in passed), read, certain)


@dataclass(frozen=True, slots=True)
class Heated:
    """A conductor that a short somewhere in its loop heats past what it withstands."""

    wire: Branch
    short: ProspectiveFault
    stands: float

    @property
    def certain(self) -> bool:
        """Whether figures that were read find it, too: a row from memory makes no error alone, be it of the device that
        lets least through or of what the wire's class withstands.
        """
        decides = min(self.short.devices, key=lambda device: device.i2t)
        segment = self.wire.segment
        class_read = segment is not None and not short_time(segment.wire_class).cited.from_memory
        return class_read and decides.certain > self.stands


def not_cleared(shorts: list[ProspectiveFault], seconds: float) -> Iterator[ProspectiveFault]:
    """The shorts that no device opens in time; those whose devices have no published time are not judged."""
    for short in shorts:
        if short.seconds is not None and short.seconds > seconds:
            yield short


def heated(shorts: list[ProspectiveFault], seconds: float) -> Iterator[Heated]:
    """For each wire the worst short that is cleared in time and yet heats it past k2S2."""
    worst: dict[str, Heated] = {}
    for short in shorts:
        if short.seconds is None or short.seconds > seconds:
            continue
        for branch in short.loop:
            segment = branch.segment
            if segment is None or segment.size is None:
                continue
            stands = withstand_i2t(segment.size.area, segment.wire_class)
            known = worst.get(segment.wire)
            if short.i2t > stands and (known is None or short.i2t / stands > known.short.i2t / known.stands):
                worst[segment.wire] = Heated(branch, short, stands)
    yield from worst.values()
