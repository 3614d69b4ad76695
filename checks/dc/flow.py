"""A solved situation: volts and currents, at their peak, on the average and as they warm copper."""

from __future__ import annotations

from dataclasses import field, replace
from functools import cached_property
from typing import TYPE_CHECKING, ClassVar, Protocol, cast

from ...lang.circuit.ids import source_of
from ...lang.records import dataclass
from .connectivity import Connectivity
from .laws import Laws
from .situation import Situation

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit.branch import Branch
    from .no_windings import LeftOut
    from .nodal_equations import NodalEquations

    Floats = NDArray[np.float64]


NO_CURRENT = 1e-6
"""A below which a branch carries nothing (ours)."""

CLOSE = 1e-6
"""A to which what a battery lends is what elements of a duty draw."""

MOST_LOANS = 30
"""Rounds in which that is sought; a few are enough."""


@dataclass(frozen=True)
class Flow:
    """A solved situation. ``kept`` volts of the nodes that were solved; everything else follows from them."""

    network: NodalEquations
    situation: Situation
    kept: Floats = field(repr=False)
    laws: Laws = field(repr=False)

    @cached_property
    def volts(self) -> Floats:
        """Volts of all nodes against the system's ground, in the order of ``network.nodes``."""
        return self.network.all_volts(self.kept)

    def at(self, node: str) -> float:
        return float(self.volts[self.network.index[node]])

    @cached_property
    def amps(self) -> dict[str, float]:
        """A through every branch from ``a`` to ``b``, 0 where it is open, by key; into a source at its +, by name."""
        found = self.network.plain_amps(self.volts, self.situation)
        found.update(self.law_amps)
        return found

    @cached_property
    def law_amps(self) -> dict[str, float]:
        """The same of the laws alone, sources among them: what a source takes at its +."""
        across = self.kept[self.laws.tops] - self.kept[self.laws.bottoms]
        return dict(zip(self.laws.keys, self.laws.bank.amps(across).tolist(), strict=True))

    @property
    def readings(self) -> Floats:
        """What a meter shows at all nodes, set to what is there: direct volts, or alternating ones rms."""
        return self.volts

    @property
    def waves(self) -> Floats | None:
        """V of all nodes at the moments of a period of the windings; ``None`` where all is direct."""
        return None

    def alternates(self, node: str) -> bool:  # noqa: ARG002
        """Whether what a meter finds at a terminal is alternating."""
        return False

    @property
    def windings(self) -> frozenset[str]:
        """The windings, by key, whose current is solved here."""
        return frozenset()

    @property
    def left_out(self) -> tuple[LeftOut, ...]:
        """The windings whose current is not solved here though they turn."""
        return self.network.left_out(self.situation, self.windings)

    by_watts: ClassVar[tuple[str, ...]] = ()
    """The windings that are taken from their watts alone, by key."""

    limited: ClassVar[tuple[tuple[str, float], ...]] = ()
    """The limiters that hold a winding's volts, with the A rms that it takes to do no more than that."""

    def delivered_amps(self, winding: str) -> float:  # noqa: ARG002
        """A rms out of a winding at its first terminal."""
        return 0.0

    def is_rough(self, key: str) -> bool:  # noqa: ARG002
        """Whether what a branch carries is alternating and worked out from a winding's watts alone."""
        return False

    def is_rms(self, key: str) -> bool:  # noqa: ARG002
        """Whether V and A of a branch or source are the root of the mean square over a period of its windings."""
        return False

    def across(self, branch: Branch) -> float:
        """V from ``a`` to ``b`` of a branch, as it feels them."""
        return self.at(branch.a) - self.at(branch.b)

    def peaks(self, branch: Branch) -> tuple[float, float]:  # noqa: ARG002
        """The most V that a branch has forwards and backwards while it turns; both 0 where nothing alternates."""
        return (0.0, 0.0)

    def watts(self, branch: Branch) -> float:
        """W taken by a branch."""
        return self.across(branch) * self.amps[branch.key]

    @property
    def squares(self) -> dict[str, float]:
        """The mean square of the current through every branch and source, in A2, while all circuits are as they are."""
        return {key: amps * amps for key, amps in self.amps.items()}

    @cached_property
    def connectivity(self) -> Connectivity:
        """What is connected to what."""
        circuit, situation = self.network.circuit, self.situation
        running = {machine.supply for machine in situation.machines}
        return Connectivity(circuit, circuit.nets, running, situation.conducting, self.at)

    @cached_property
    def parted(self) -> Flow:
        """What is connected to what while the contacts that the engine moves are open; ask it for no volts."""
        situation = self.situation
        opened = replace(situation, conducting=situation.conducting - situation.pulsing, pulsing=frozenset())
        return replace(self, situation=opened)

    @cached_property
    def duties(self) -> dict[str, float]:
        """The elements of a duty that draw current here, by key, with its share of the time; none at standstill."""
        if not self.situation.turning:
            return {}
        amps = self.amps
        return {key: duty for key, duty in self.network.duties.items() if abs(amps[key]) > NO_CURRENT}

    @cached_property
    def moments(self) -> tuple[tuple[float, Flow], ...]:
        """The flow while all circuits of a duty are closed, and those in which some are open: share of time, flow. All
        that is averaged over time is averaged over these.

        Which of several coils are closed together the text does not say: the one of less duty is taken to be closed
        within the other's time, which asks most of the wires.
        """
        closed = self._lent
        if not self.duties:
            return ((1.0, closed),)
        shares = sorted(set(self.duties.values()))
        found = [(shares[0], closed)]
        for share, longer in zip(shares, (*shares[1:], 1.0), strict=True):
            open_now = frozenset(key for key, duty in self.duties.items() if duty <= share)
            if longer > share:
                spared = sum(abs(closed.amps[key]) for key in sorted(open_now))
                situation = _spared(closed.situation, spared, open_now)
                found.append((longer - share, flow_of(self.network, situation, closed)))
        return tuple(found)

    @cached_property
    def _lent(self) -> Flow:
        """The same while the battery lends what the elements of a duty draw here above their mean. A situation counts
        that at rated volts, which is enough to settle things, but adds up to no average: a machine that delivers all
        that it can would deliver less or more of it while the circuits are closed than the battery takes back.
        """
        flow: Flow = self
        before: tuple[float, float] | None = None
        for _ in range(MOST_LOANS):
            counted = sum(m.ripple for m in flow.situation.machines)
            drawn = sum((1.0 - duty) * abs(flow.amps[key]) for key, duty in self.duties.items())
            off = drawn - counted
            if abs(off) <= CLOSE or not _asks_all(flow, drawn):
                return flow
            step = off
            if before is not None and before[1] != off:  # all but straight: two steps tell where it meets
                step = off * (counted - before[0]) / (before[1] - off)
            before = counted, off
            share = max(counted + step, 0.1 * drawn) / counted
            machines = tuple(
                replace(m, amps=m.lasting + share * m.ripple, ripple=share * m.ripple) for m in flow.situation.machines
            )
            flow = flow_of(self.network, replace(flow.situation, machines=machines), flow)
        return flow

    @cached_property
    def heating(self) -> dict[str, float]:
        """The root of the mean square of the current through every branch and source, in A: what warms copper."""
        found = dict.fromkeys(self.amps, 0.0)
        for share, flow in self.moments:
            for key, square in flow.squares.items():
                found[key] += share * square
        return {key: square**0.5 for key, square in found.items()}

    def reaches(self, start: str, ends: tuple[str, ...]) -> bool:
        """Whether current can come from a terminal to one of some others through what joins."""
        return self.network.topology.reaches(self.situation.conducting, start, ends)

    def fed(self, node: str) -> bool:
        """Whether a terminal is connected to the feed pole of a source."""
        return self.connectivity.fed(node)


def _asks_all(flow: Flow, drawn: float) -> bool:
    """Whether a machine delivers all that it can, or would if the battery lent ``drawn`` A."""
    machines = flow.situation.machines
    counted = sum(m.ripple for m in machines)
    return counted > 0.0 and any(
        -flow.law_amps[source_of(m.supply)] >= m.lasting + m.ripple * min(1.0, drawn / counted) - CLOSE
        for m in machines
    )


def _spared(situation: Situation, amps: float, resting: frozenset[str]) -> Situation:
    """A situation while elements of a duty that draw this many A are open: what the battery lent for them, it takes
    back.
    """
    lent = sum(m.ripple for m in situation.machines) or 1.0
    machines = tuple(replace(m, amps=max(m.amps - amps * m.ripple / lent, 0.1 * m.lasting)) for m in situation.machines)
    return replace(situation, machines=machines, resting=resting)


class Turning(Protocol):
    """Equations of a circuit with windings; see ``checks.ac``."""

    def turned(self, direct: Flow) -> Flow:
        """A solved situation with what windings give put in."""


def flow_of(network: NodalEquations, situation: Situation, start: Flow | None = None) -> Flow:
    """Volts of every node in a situation; ``start``: a solved one near by.

    Raises ``UnsolvableError`` with the part at which no operating point was found.
    """
    kept, laws = network.solved(situation, None if start is None else start.kept)
    direct = Flow(network, situation, kept, laws)
    return cast("Turning", network).turned(direct) if network.periodic and situation.turning else direct


def near_by(network: NodalEquations, flow: Flow) -> Flow:
    """A solved situation of a circuit that has the same nodes, to start from in this one."""
    import numpy as np

    kept = np.array([flow.at(network.nodes[i]) for i in network.reduction.kept])
    return replace(flow, network=network, kept=kept)
