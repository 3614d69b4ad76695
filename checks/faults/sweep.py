"""Every single fault of a harness in its named states, worst first."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING

from ..dc.elements import UnsolvableError
from .effects import OVERCHARGE, WORDS, Category, Effect, Elements, category
from .modes import Fault, chains, opens
from .plain import opened
from .ports import MOST_NODES, Ports, can_be_ported

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit import Branch
    from ..dc.operating import Operation, Point
    from ..protection import Protection

    Floats = NDArray[np.float64]

CHARGED = 0.02
"""A into a battery, from which it counts as charged (ours)."""


@dataclass(frozen=True)
class Outcome:
    """One fault in one state. ``volts`` are those of all nodes, in the order of the network; ``point`` where it was
    solved plainly; ``problem`` where it could not be solved.
    """

    fault: Fault
    state: str
    effects: tuple[Effect, ...] = ()
    volts: Floats | None = field(default=None, repr=False, compare=False)
    shares: Floats | None = field(default=None, repr=False, compare=False)
    problem: str = ""


@dataclass(frozen=True)
class Report:
    """A failure mode with its end effects: ``faults`` that nobody can tell apart by them, in the order of the text.

    ``effects`` by state, states alike together: (names of states, effects). ``category`` is that of the gravest.
    ``blows``: the devices that a short to ground opens; ``burns``: nothing opens at all.
    """

    faults: tuple[Fault, ...]
    effects: tuple[tuple[tuple[str, ...], tuple[Effect, ...]], ...]
    category: Category
    blows: tuple[str, ...] = ()
    burns: bool = False


class Sweep:
    """The faults of one harness. What a state costs is paid when it is first asked for."""

    def __init__(self, operation: Operation) -> None:
        self.operation = operation
        self.circuit = operation.circuit
        self._done: dict[tuple[str, bool], dict[str, Outcome]] = {}

    def outcomes(self, state: str, *, exact: bool = False) -> dict[str, Outcome]:
        """What each opening does in a named state, by branch key. Raises ``UnsolvableError`` for the sound state.

        Without ``exact``, what lies in series and must be solved plainly is solved once: the effects are the same, the
        volts inside the chain are those of its first fault.
        """
        done = self._done.setdefault((state, exact), {})
        if not done:
            done.update({o.fault.key: o for o in self._sweep(self.operation.state(state), exact=exact)})
        return done

    def element(self, state: str, key: str) -> Outcome:
        """What happens when a load itself fails open in a named state."""
        import numpy as np

        point = self.operation.state(state)
        elements = Elements(point)
        amps = np.array([[point.flow.law_amps[k] for k in point.flow.laws.keys]])
        return self._plainly(point, elements, elements.shares(point.flow.volts[None, :], amps)[0], Fault(key))

    @cached_property
    def _chains(self) -> dict[str, str]:
        return chains(self.circuit)

    def _sweep(self, point: Point, *, exact: bool) -> Iterator[Outcome]:
        import numpy as np

        ports = Ports(point)
        elements = Elements(point)
        base = point.flow.volts[None, :]
        amps = point.flow.law_amps
        base_shares = elements.shares(base, np.array([[amps[k] for k in point.flow.laws.keys]]))
        candidates = [b for b in opens(self.circuit) if point.joins.conducts(b)]
        idle = {b.key for b in candidates if ports.idle(b)}
        small = len(point.flow.network.nodes) <= MOST_NODES
        fast = [
            b for b in candidates if small and b.key not in idle and b.key not in ports.watched and can_be_ported(b)
        ]
        struck = ports.open([b.key for b in fast]) if fast else None
        shares = elements.shares(struck.volts, struck.law_amps) if struck is not None else None
        done = {} if struck is None else {k: i for i, k in enumerate(struck.keys) if not struck.moved[i]}
        plain: dict[str, Outcome] = {}
        for branch in candidates:
            fault = Fault(branch.key)
            if branch.key in idle:
                yield Outcome(fault, point.state, (), point.flow.volts, base_shares[0])
            elif struck is not None and shares is not None and branch.key in done:
                i = done[branch.key]
                effects = self._effects(point, elements, base_shares[0], shares[i], struck.volts[i])
                yield Outcome(fault, point.state, effects, struck.volts[i], shares[i])
            else:
                chain = branch.key if exact else self._chains[branch.key]
                if chain not in plain:
                    plain[chain] = self._plainly(point, elements, base_shares[0], fault)
                yield replace(plain[chain], fault=fault)

    def _plainly(self, point: Point, elements: Elements, before: Floats, fault: Fault) -> Outcome:
        import numpy as np

        try:
            after = opened(self.operation, point, fault.key)
        except UnsolvableError as error:
            return Outcome(fault, point.state, problem=str(error))
        index = after.flow.network.index
        nodes = point.flow.network.nodes
        volts = np.array([after.flow.volts[index[n]] if n in index else 0.0 for n in nodes])
        shares = elements.at(after)[0]
        return Outcome(fault, point.state, self._effects(point, elements, before, shares, volts, after), volts, shares)

    def _effects(
        self,
        point: Point,
        elements: Elements,
        before: Floats,
        shares: Floats,
        volts: Floats,
        after: Point | None = None,
    ) -> tuple[Effect, ...]:
        was, now = elements.words(before[None, :])[0], elements.words(shares[None, :])[0]
        found = [
            Effect(
                elements.branches[i].key,
                WORDS[was[i]],
                WORDS[now[i]],
                float(shares[i]),
                category(point, elements.branches[i], int(was[i]), int(now[i])),
            )
            for i in (was != now).nonzero()[0]
        ]
        found.extend(self._batteries(point, volts, after))
        return tuple(sorted(found, key=lambda effect: (effect.category, effect.thing)))

    def _batteries(self, point: Point, volts: Floats, after: Point | None) -> Iterator[Effect]:
        """What a fault does to the charge of the batteries while the engine turns."""
        if point.engine not in ("idling", "running"):
            return
        network = point.flow.network
        for supply, curve in network.batteries:
            across = float(volts[network.index[supply.plus[0]]] - volts[network.index[supply.minus]])
            if after is not None and supply.name in after.circuit.removed:
                continue
            into = curve.amps(across)
            if -point.amps(supply.name) > CHARGED and into < CHARGED:
                yield Effect(supply.name, "charged", "not charged", across, Category.MARGINAL)
            elif across > OVERCHARGE * network.regulated[""] > point.across(supply.name):
                yield Effect(supply.name, "charged", "overcharged", across, Category.CRITICAL)

    # --- the report --------------------------------------------------------------------------------------------------
    def reports(self, states: Iterable[str], protection: Protection | None = None) -> tuple[Report, ...]:
        """Everything that a single fault does in these states, worst first; alike ones together.

        With ``protection``, shorts of feed-side wires to ground as well: what opens then, and what goes with it.
        """
        names = tuple(states)
        by_key: dict[str, list[tuple[str, tuple[Effect, ...]]]] = {}
        for name in names:
            for key, outcome in self.outcomes(name).items():
                if outcome.effects:
                    by_key.setdefault(key, []).append((name, outcome.effects))
        groups: dict[tuple[tuple[str, tuple[tuple[str, str], ...]], ...], list[str]] = {}
        for branch in opens(self.circuit):
            if branch.key in by_key:
                look = tuple((s, tuple((e.thing, e.now) for e in effects)) for s, effects in by_key[branch.key])
                groups.setdefault(look, []).append(branch.key)
        found = [
            Report(tuple(Fault(key) for key in keys), _by_state(by_key[keys[0]]), _worst(by_key[keys[0]]))
            for keys in groups.values()
        ]
        if protection is not None:
            found.extend(self._shorts(protection, by_key))
        order = {branch.key: i for i, branch in enumerate(self.circuit.branches)}
        return tuple(sorted(found, key=lambda r: (r.category, not r.burns, -_count(r), order[r.faults[0].key])))

    def _shorts(
        self, protection: Protection, by_key: dict[str, list[tuple[str, tuple[Effect, ...]]]]
    ) -> Iterator[Report]:
        """Wires of the feed side chafed through to ground: the devices before them open, or nothing does."""
        groups: dict[tuple[tuple[str, ...], bool], list[Branch]] = {}
        for branch in self.circuit.branches:
            exposure = protection.exposures.get(branch.piece.name) if branch.piece is not None else None
            if exposure is None or exposure.amps <= 0.0 or protection.side(branch) == "return":
                continue
            burns = not exposure.protected
            groups.setdefault((() if burns else exposure.devices, burns), []).append(branch)
        for (devices, burns), branches in groups.items():
            faults = tuple(Fault(b.key, "short to ground") for b in branches)
            if burns:
                yield Report(faults, (), Category.CATASTROPHIC, (), burns=True)
                continue
            known = [by_key[d] for d in devices if d in by_key]
            if len(devices) == 1 and known:
                yield Report(faults, _by_state(known[0]), _worst(known[0]), devices)
            else:
                worst = min((_worst(each) for each in known), default=Category.MINOR)
                yield Report(faults, (), worst, devices)


def _by_state(
    found: Sequence[tuple[str, tuple[Effect, ...]]],
) -> tuple[tuple[tuple[str, ...], tuple[Effect, ...]], ...]:
    """States with the same effects together."""
    groups: dict[tuple[tuple[str, str], ...], tuple[list[str], tuple[Effect, ...]]] = {}
    for state, effects in found:
        look = tuple((e.thing, e.now) for e in effects)
        groups.setdefault(look, ([], effects))[0].append(state)
    return tuple((tuple(states), effects) for states, effects in groups.values())


def _worst(found: Sequence[tuple[str, tuple[Effect, ...]]]) -> Category:
    return min((effect.category for _, effects in found for effect in effects), default=Category.MINOR)


def _count(report: Report) -> int:
    """How many things a failure touches at its worst category."""
    return len({e.thing for _, effects in report.effects for e in effects if e.category == report.category})
