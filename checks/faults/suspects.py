"""From what is seen to what may have failed, and the one measurement that tells most of the suspects apart."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit import Law
from ...lang.model import Connector
from .effects import WORDS, Elements
from .modes import LIKELIHOOD, Fault
from .sweep import Outcome, Sweep

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from ..dc.operating import Point

    Floats = NDArray[np.float64]

APART = 1.0
"""V by which two readings must differ for a meter on a bench lead to tell them apart (ours)."""

ELEMENT_LIKELIHOOD = 6
"""The load itself is the first suspect of what it does not do (ours): bulbs burn out oftener than wires break."""


@dataclass(frozen=True, slots=True)
class Seen:
    """Something observed: a part or an element that is dead, dim or live."""

    thing: str
    word: str


@dataclass(frozen=True, slots=True)
class Suspect:
    """A fault with what speaks for it: ``fits`` of the observations agree, ``against`` names those that do not.

    ``also`` names the parts that it would change besides, and nobody said so: the fewer, the likelier.
    """

    fault: Fault
    fits: int
    against: tuple[str, ...]
    also: tuple[str, ...]
    likelihood: int


@dataclass(frozen=True, slots=True)
class Reading:
    """What a meter would show at the measured terminal, from ``least`` to ``most`` V, if it is one of ``suspects``."""

    least: float
    most: float
    suspects: tuple[Fault, ...]


@dataclass(frozen=True, slots=True)
class Measurement:
    """Volts between ``node`` (red lead) and ``ground`` (black lead), and what each reading means."""

    node: str
    ground: str
    readings: tuple[Reading, ...]


@dataclass(frozen=True, slots=True)
class Inquiry:
    """What was found. ``sound``: the harness without any fault does what was seen. ``suspects``: the best first; none
    fits all observations where ``partial``. ``next`` is ``None`` where no reading tells them apart.
    """

    sound: bool
    suspects: tuple[Suspect, ...]
    partial: bool
    next: Measurement | None


class UnknownThingError(LookupError):
    """An observation of something that is no part or element with a standing; ``known`` are those that are."""

    def __init__(self, name: str, known: tuple[str, ...]) -> None:
        super().__init__(f"nothing that can be seen dead or live is named {name!r}")
        self.name = name
        self.known = known


class Detective:
    """Single faults against observations in one named state. Raises ``UnsolvableError`` for a state without numbers."""

    def __init__(self, sweep: Sweep, state: str) -> None:
        self._sweep = sweep
        self._state = state
        self.point: Point = sweep.operation.state(state)
        self._elements = Elements(self.point)

    @property
    def things(self) -> tuple[str, ...]:
        """What can be observed: parts with a consumer, and their elements."""
        keys = [b.key for b in self._elements.branches]
        parts = [b.part for b in self._elements.branches]
        return tuple(dict.fromkeys((*parts, *keys)))

    def inquire(self, seen: Sequence[Seen]) -> Inquiry:
        """What may have failed. Raises ``UnknownThingError``."""
        for each in seen:
            if each.thing not in self.things:
                raise UnknownThingError(each.thing, self.things)
        said = {s.thing.partition(".")[0] for s in seen}
        ranked = []
        for outcome in self._outcomes.values():
            if outcome.shares is None:
                continue
            words = self._words(outcome.shares)
            against = tuple(f"{s.thing} {words[s.thing]}" for s in seen if words[s.thing] != s.word)
            also = tuple(
                f"{part} {words[part]}" for part in self._parts if words[part] != self._sound[part] and part not in said
            )
            fits = len(seen) - len(against)
            ranked.append(Suspect(outcome.fault, fits, against, also, self._likelihood(outcome.fault)))
        sound = all(self._sound[s.thing] == s.word for s in seen)
        best = max((s.fits for s in ranked), default=0)
        order = {branch.key: i for i, branch in enumerate(self.point.circuit.branches)}
        unchanged = sum(self._sound[s.thing] == s.word for s in seen)
        chosen = [s for s in ranked if s.fits == best and best > unchanged]
        chosen.sort(key=lambda s: (len(s.also), -s.likelihood, order[s.fault.key]))
        return Inquiry(sound, tuple(chosen), best < len(seen), self._next([s.fault for s in chosen]))

    # --- what each fault would show ----------------------------------------------------------------------------------
    @cached_property
    def _outcomes(self) -> Mapping[str, Outcome]:
        """Every conductor and device that may be open, and every load that may be."""
        found = dict(self._sweep.outcomes(self._state, exact=True))
        for branch in self._elements.branches:
            if abs(self.point.amps(branch.key)) > 1e-6:
                found[branch.key] = self._sweep.element(self._state, branch.key)
        return found

    @cached_property
    def _parts(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(b.part for b in self._elements.branches))

    @cached_property
    def _sound(self) -> Mapping[str, str]:
        return self._words(self._elements.at(self.point)[0])

    def _words(self, shares: Floats) -> dict[str, str]:
        """How every part and element stands: a part is live when one of its elements is, dead when all are."""
        codes = self._elements.words(shares[None, :])[0]
        found = {}
        parts: dict[str, list[int]] = {}
        for branch, code in zip(self._elements.branches, codes, strict=True):
            found[branch.key] = WORDS[code]
            parts.setdefault(branch.part, []).append(int(code))
        for part, inside in parts.items():
            found.setdefault(part, WORDS[2] if 2 in inside else WORDS[0] if not any(inside) else WORDS[1])
        return found

    def _likelihood(self, fault: Fault) -> int:
        law = self.point.circuit.by_key[fault.key].law
        return LIKELIHOOD.get(law, ELEMENT_LIKELIHOOD if law.consumes else 1)

    # --- what to measure next ----------------------------------------------------------------------------------------
    def _next(self, faults: Sequence[Fault]) -> Measurement | None:
        """The terminal whose volts leave fewest suspects on average; of several the one that is reached most easily."""
        known = [(f, self._outcomes[f.key].volts) for f in faults]
        volts = [(f, v) for f, v in known if v is not None]
        if len(volts) < 2:
            return None
        weights = {f: float(self._likelihood(f)) for f, _ in volts}
        best: tuple[tuple[float, int, int], str, list[list[tuple[float, Fault]]]] | None = None
        for i, node in enumerate(self.point.flow.network.nodes):
            if "." not in node:
                continue  # a splice under tape, the inside of a machine
            groups = _apart(sorted(((float(v[i]), f) for f, v in volts), key=lambda pair: pair[0]))
            if len(groups) < 2:
                continue
            total = sum(weights.values())
            left = sum(sum(weights[f] for _, f in group) ** 2 for group in groups) / total
            rank = (round(left, 6), self._reach(node), i)
            if best is None or rank < best[0]:
                best = (rank, node, groups)
        if best is None:
            return None
        readings = tuple(
            Reading(group[0][0], group[-1][0], tuple(f for f in faults if any(f == g for _, g in group)))
            for group in best[2]
        )
        return Measurement(best[1], self._ground, readings)

    @cached_property
    def _ground(self) -> str:
        """Where the black lead goes: the battery's pole that the system grounds."""
        circuit = self.point.circuit
        supply = next((s for s in circuit.supplies if s.kind == "battery"), circuit.supplies[0])
        return supply.minus if circuit.return_sign == "-" else supply.plus[0]

    def _reach(self, node: str) -> int:
        """How hard a terminal is to reach: plugs and fuses first, then what has terminals to touch."""
        part = self.point.circuit.harness.parts.get(node.partition(".")[0])
        if isinstance(part, Connector) or any(b.law is Law.FUSE for b in self.point.circuit.at.get(node, ())):
            return 0
        return 1


def _apart(readings: Iterable[tuple[float, Fault]]) -> list[list[tuple[float, Fault]]]:
    """Readings in groups that a meter tells apart, in rising order."""
    groups: list[list[tuple[float, Fault]]] = []
    for volts, fault in readings:
        if groups and volts - groups[-1][-1][0] < APART:
            groups[-1].append((volts, fault))
        else:
            groups.append([(volts, fault)])
    return groups
