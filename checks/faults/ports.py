"""All open conductors of one state at once.

The plain resistances are reduced once to the ports of the laws: what a current into one port does to the volts of
another. A conductor that opens is a change of rank one of that small matrix (Sherman and Morrison 1950), so a fault
costs Newton on the ports alone, and all faults of a state take their steps together.

What moves with the fault besides (a relay that lets go, a unit that loses its supply, a machine that is no longer fed,
a regulator that senses other volts) is told apart: those faults are solved plainly.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit import Way
from ...lang.model import Regulator, Relay, Unit
from ..tables.laws import laws as figures
from ..tables.laws import shares
from .modes import chains

if TYPE_CHECKING:
    from collections.abc import Sequence

    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit import Branch
    from ..dc.operating import Point

    Floats = NDArray[np.float64]
    Places = NDArray[np.intp]

NO_CURRENT = 1e-6
"""A conductor that carries no more than this in A can open and nothing follows."""

MOST_NODES = 1500
"""Nodes up to which the whole matrix is inverted; beyond, every fault is solved plainly."""

SHARED = 0.1
"""Siemens of every law that are counted among the plain resistances (ours): with less, what hangs on blocking diodes
alone would make the matrix too stiff to invert."""

MOST_STEPS = 14
STILL = 1e-6
"""Volts by which the last step on the ports may still move; those in all nodes go on from there."""

SMALL = 1e-6
"""Volts up to which a step is taken whole."""

CUTS = 8
"""Times that the end of a step is sought between two bounds (Illinois method)."""

REFINED = 2
"""Steps in all nodes after those on the ports (ours): where little is left of a conductance, rounding shows."""

RESIDUE = 1e-5
"""Amps by which the currents at a node may miss zero before a fault is solved plainly."""

SENSE_SLACK = 0.01
"""Volts by which what a regulator senses may move before its machine is tuned anew."""

ABOVE = 1.001
"""Times its own volts at which a machine after a fault is solved plainly (ours)."""


@dataclass(frozen=True)
class Struck:
    """One state after each of some faults. ``volts`` by fault and node, ``law_amps`` by fault and law.

    ``moved`` marks the faults after which something else moves, or whose numbers are not good enough: solve those
    plainly.
    """

    keys: tuple[str, ...]
    volts: Floats
    law_amps: Floats
    moved: NDArray[np.bool_]


class Ports:
    """The ports of one solved state."""

    def __init__(self, point: Point) -> None:
        self.point = point
        self.network = point.flow.network

    def idle(self, branch: Branch) -> bool:
        """Whether opening a branch changes nothing: it carries nothing, and nobody watches what it joins."""
        return abs(self.point.amps(branch.key)) <= NO_CURRENT and branch.key not in self.watched

    @cached_property
    def watched(self) -> frozenset[str]:
        """Branches without current that tell something all the same: to an input, a regulator, a rectifier."""
        found: set[str] = set()
        joins = self.point.joins
        circuit = self.point.circuit
        feeds = [pole for s in joins.sources for pole in s.plus]
        returns = [s.minus for s in joins.sources]
        for part in circuit.harness.parts.values():
            if part.name in circuit.removed:
                continue
            if isinstance(part, Unit):
                own = [f"{part.name}.{s.minus}" for s in part.supplies]
                for given in part.inputs:
                    node = f"{part.name}.{given.terminal}"
                    if given.mode == "grounded":
                        found.update(joins.between([node], own))
                    elif given.mode == "fed":
                        plus = circuit.return_sign == "-"
                        found.update(joins.between(feeds, [node]) if plus else joins.between([node], returns))
                if part.stop_lead:
                    lead, back = (f"{part.name}.{terminal}" for terminal in part.stop_lead)
                    found.update(joins.between([lead], [back]))
            elif isinstance(part, Regulator) and part.sense:
                top, bottom = (f"{part.name}.{terminal}" for terminal in part.sense)
                found.update(joins.between(feeds, [top]))
                found.update(joins.between([bottom], returns))
        for supply in circuit.supplies:
            ways = [joins.between([phase], self.network.stators) for phase in supply.phases]
            if sum(bool(way) for way in ways) == 2:  # of three phases one may go
                found.update(key for way in ways for key in way)
        return frozenset(found)

    # --- the small matrix --------------------------------------------------------------------------------------------
    @cached_property
    def _reduced(self) -> _Reduced:
        import numpy as np

        flow, network = self.point.flow, self.network
        matrix = network.whole(flow.situation)
        kept = np.array(network.kept_nodes, dtype=np.intp)
        tops, bottoms = kept[flow.laws.tops], kept[flow.laws.bottoms]
        shared = np.full(flow.laws.bank.count, SHARED)
        np.add.at(matrix, (tops, tops), shared)
        np.add.at(matrix, (bottoms, bottoms), shared)
        np.add.at(matrix, (tops, bottoms), -shared)
        np.add.at(matrix, (bottoms, tops), -shared)
        inverse = np.asarray(np.linalg.inv(matrix), dtype=float)
        to_ports = inverse[:, tops] - inverse[:, bottoms]
        between = np.zeros((tops.size, matrix.shape[0]))
        between[np.arange(tops.size), tops] += 1.0
        between[np.arange(tops.size), bottoms] -= 1.0
        z = to_ports[tops] - to_ports[bottoms]
        return _Reduced(matrix, inverse, tops, bottoms, shared, to_ports, z, between)

    def open(self, keys: Sequence[str]) -> Struck:
        """The state after each of these branches alone has opened. They must be plain resistances that conduct."""
        import numpy as np

        reduced = self._reduced
        network, flow = self.network, self.point.flow
        bank = flow.laws.bank
        branches = [self.point.circuit.by_key[key] for key in keys]
        a = np.array([network.index[b.a] for b in branches], dtype=np.intp)
        b = np.array([network.index[b.b] for b in branches], dtype=np.intp)
        siemens = np.array([network.siemens(b, flow.situation) for b in branches])
        to_fault = reduced.inverse[:, a] - reduced.inverse[:, b]  # (nodes, faults)
        place = np.arange(len(branches))
        own = to_fault[a, place] - to_fault[b, place]
        with np.errstate(divide="ignore", invalid="ignore"):
            change = 1.0 / (own - 1.0 / siemens)
        ports = (to_fault[reduced.tops] - to_fault[reduced.bottoms]).T  # (faults, laws)
        first, of = self._series(keys)
        z = reduced.z[None, :, :] - change[first, None, None] * ports[first, :, None] * ports[first, None, :]
        passed = self._newton(z)[1][of]
        z = z[of]
        volts = -passed @ reduced.to_ports.T
        volts += (change * np.einsum("kp,kp->k", ports, passed))[:, None] * to_fault.T
        change = np.where(np.isfinite(change), change, 0.0)
        fault = _Opened(a, b, siemens, change, to_fault, ports, z)
        for _ in range(REFINED):
            volts -= self._correction(fault, volts)
        across = volts[:, reduced.tops] - volts[:, reduced.bottoms]
        law_amps = bank.many(across)[0]
        good = np.abs(self._excess(fault, volts)).max(axis=1, initial=0.0) < RESIDUE
        return Struck(tuple(keys), volts, law_amps, ~good | self._moved(volts))

    def _excess(self, fault: _Opened, volts: Floats) -> Floats:
        """By how many amps the currents at each node miss zero with the conductor open; (faults, nodes)."""
        import numpy as np

        reduced = self._reduced
        across = volts[:, reduced.tops] - volts[:, reduced.bottoms]
        beyond = self.point.flow.laws.bank.many(across)[0] - reduced.shared * across
        excess = volts @ reduced.matrix + beyond @ reduced.between
        rows = np.arange(volts.shape[0])
        through = fault.siemens * (volts[rows, fault.a] - volts[rows, fault.b])
        excess[rows, fault.a] -= through
        excess[rows, fault.b] += through
        return np.asarray(excess, dtype=float)

    def _correction(self, fault: _Opened, volts: Floats) -> Floats:
        """The volts that an excess of current asks for: one Newton step in all nodes, against what rounding left."""
        import numpy as np

        reduced = self._reduced
        excess = self._excess(fault, volts)
        across = volts[:, reduced.tops] - volts[:, reduced.bottoms]
        rise = self.point.flow.laws.bank.many(across)[1] - reduced.shared
        plain = excess @ reduced.inverse
        plain -= (fault.change * np.einsum("nk,kn->k", fault.to_fault, excess))[:, None] * fault.to_fault.T
        at_ports = plain[:, reduced.tops] - plain[:, reduced.bottoms]
        small = np.eye(at_ports.shape[1]) + fault.z * rise[:, None, :]
        passed = rise * np.linalg.solve(small, at_ports[:, :, None])[:, :, 0]
        back = passed @ reduced.to_ports.T
        back -= (fault.change * np.einsum("kp,kp->k", fault.ports, passed))[:, None] * fault.to_fault.T
        return np.asarray(plain - back, dtype=float)

    def _series(self, keys: Sequence[str]) -> tuple[Places, Places]:
        """The first fault of each chain, and for every fault the place of its chain among those.

        Wherever a chain opens, the laws see the same.
        """
        import numpy as np

        chain = chains(self.point.circuit)
        place: dict[str, int] = {}
        first: list[int] = []
        of: list[int] = []
        for i, key in enumerate(keys):
            name = chain.get(key, key)
            if name not in place:
                place[name] = len(first)
                first.append(i)
            of.append(place[name])
        return np.array(first, dtype=np.intp), np.array(of, dtype=np.intp)

    def _newton(self, z: Floats) -> tuple[Floats, Floats]:
        """Volts across the laws and what they pass beyond their shared siemens, for every fault; (faults, laws).

        As in ``dc.newton``, each step is cut where the network's co-content stops falling along it.
        """
        import numpy as np

        flow = self.point.flow
        bank, shared = flow.laws.bank, self._reduced.shared
        count, size = z.shape[0], z.shape[1]
        start = flow.kept[flow.laws.tops] - flow.kept[flow.laws.bottoms]
        passed = np.tile(bank.amps(start) - shared * start, (count, 1))
        across = -np.matmul(z, passed[:, :, None])[:, :, 0]
        unit = np.eye(size)
        active = np.arange(count)
        for _ in range(MOST_STEPS):
            u, w, zz = across[active], passed[active], z[active]
            amps, slopes = bank.many(u)
            beyond = amps - shared * u
            rise = slopes - shared
            miss = u + np.matmul(zz, beyond[:, :, None])[:, :, 0]
            step = -np.linalg.solve(unit + zz * rise[:, None, :], miss[:, :, None])[:, :, 0]
            w_step = beyond + rise * step - w
            share = self._shares(u, w, step, w_step)
            across[active] = u + share[:, None] * step
            passed[active] = w + share[:, None] * w_step
            active = active[np.abs(step).max(axis=1, initial=0.0) > STILL]
            if not active.size:
                break
        return across, passed

    def _shares(self, u: Floats, w: Floats, step: Floats, w_step: Floats) -> Floats:
        """The share of each fault's step to take: all of it, unless the co-content rises again before its end.

        Its slope along the step needs the laws alone: what the plain resistances answer is known from the step.
        """
        import numpy as np

        bank, shared = self.point.flow.laws.bank, self._reduced.shared

        def fall(share: Floats, rows: Places) -> Floats:
            at = u[rows] + share[:, None] * step[rows]
            change = bank.many(at)[0] - shared * at - (w[rows] + share[:, None] * w_step[rows])
            return np.asarray((change * step[rows]).sum(axis=1), dtype=float)

        whole = np.ones(u.shape[0])
        large = np.flatnonzero(np.abs(step).max(axis=1, initial=0.0) > SMALL)
        if not large.size:
            return whole
        start, end = fall(np.zeros(large.size), large), fall(np.ones(large.size), large)
        wrong = (start < 0.0) & (end > 0.1 * -start)
        rows = large[wrong]
        if rows.size:
            low, high = np.zeros(rows.size), np.ones(rows.size)
            low_value, high_value = start[wrong], end[wrong]
            for _ in range(CUTS):
                middle = (low * high_value - high * low_value) / (high_value - low_value)
                value = fall(middle, rows)
                falls = value <= 0.0
                high_value = np.where(falls, 0.5 * high_value, value)
                low_value = np.where(falls, value, 0.5 * low_value)
                low, high = np.where(falls, middle, low), np.where(falls, high, middle)
            whole[rows] = high
        return whole

    # --- what else moves ---------------------------------------------------------------------------------------------
    def _moved(self, volts: Floats) -> NDArray[np.bool_]:
        """The faults after which a relay, a unit's supply, an excitation or a sensed voltage stands otherwise."""
        import numpy as np

        point, network = self.point, self.network
        circuit, memory = point.circuit, point.memory
        nominal = circuit.harness.volts
        moved = np.zeros(volts.shape[0], dtype=bool)

        def across(top: str, bottom: str) -> Floats:
            return np.asarray(volts[:, network.index[top]] - volts[:, network.index[bottom]], dtype=float)

        for part in circuit.harness.parts.values():
            coil = circuit.by_key.get(f"{part.name} coil")
            if isinstance(part, Relay) and coil is not None:
                there = np.abs(across(coil.a, coil.b))
                if part.name in memory.pulled:
                    drop = part.holds if part.holds is not None else figures().relay_drop_share * nominal
                    moved |= there < drop
                else:
                    pull = part.pulls if part.pulls is not None else figures().relay_pull_share * nominal
                    moved |= there >= pull
            elif isinstance(part, Unit):
                needed = shares()["unit supply"].works * nominal
                for own in part.supplies:
                    branch = circuit.by_key.get(f"{part.name} supply" + (f" {own.name}" if own.name else ""))
                    if branch is not None:
                        before = point.across(branch.key) >= needed
                        moved |= (across(branch.a, branch.b) >= needed) != before
        for supply in circuit.supplies:
            if supply.kind == "machine" and supply.name not in memory.excited and point.engine != "off":
                for key in network.fields[supply.name]:
                    branch = circuit.by_key.get(key)
                    if branch is not None:
                        starts = figures().field_start_share * network.regulated[supply.name]
                        moved |= np.abs(across(branch.a, branch.b)) >= starts
        for name, top, bottom in network.senses:
            running = any(m.supply == name for m in point.flow.situation.machines)
            if running and top in network.index and bottom in network.index:
                before_volts = point.volts(top) - point.volts(bottom)
                moved |= np.abs(across(top, bottom) - before_volts) > SENSE_SLACK
        for machine in point.flow.situation.machines:
            supply = next(s for s in circuit.supplies if s.name == machine.supply)
            if supply.plus[0] in network.index and supply.minus in network.index:
                # Above its volts a machine gives nothing, so a lone one could stand at any: the plain way knows better.
                moved |= across(supply.plus[0], supply.minus) > ABOVE * machine.volts
        return moved


def can_be_ported(branch: Branch) -> bool:
    """Whether a branch is a plain resistance; one-way ones are laws, and solved plainly when they fail."""
    return branch.law.joined is Way.BOTH


@dataclass(frozen=True)
class _Opened:
    """Some faults: the ends and siemens of what opens, and what that does to the small matrix.

    ``change``: the amps of rank one; ``to_fault``: volts of every node for an amp through the fault, (nodes, faults);
    ``ports``: of every port, (faults, laws); ``z``: the small matrix of each.
    """

    a: Places
    b: Places
    siemens: Floats
    change: Floats
    to_fault: Floats
    ports: Floats
    z: Floats


@dataclass(frozen=True)
class _Reduced:
    """The whole matrix with the laws' shared siemens in it, its inverse, and the laws' ports.

    ``to_ports``: volts of every node for an amp into each port; ``z``: of every port. ``between``: 1 and -1 at the two
    nodes of each law, (laws, nodes).
    """

    matrix: Floats
    inverse: Floats
    tops: Places
    bottoms: Places
    shared: Floats
    to_ports: Floats
    z: Floats
    between: Floats
