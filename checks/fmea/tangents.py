"""Many faults of one situation of a large harness, each from the tangents of the sound one.

At the volts of the sound situation every law is replaced by its tangent, and that network is factorised once, sparse
(``scipy``). A fault is a few changed conductances (Woodbury 1950), and those laws that leave their tangent are put
right one by one: a lamp that goes dark leaves those of another circuit where they were. So a fault costs Newton on the
ports of what it moves, and no step leaves anything out: laws are added until none is off its tangent by more than
``OFF``.
"""

from __future__ import annotations

from copy import copy
from dataclasses import replace
from typing import TYPE_CHECKING

from ...lang.circuit.ids import source_of
from ...lang.records import dataclass
from ..dc.connectivity import always
from .ports import CUT_OFF, GONE, Ports, Struck

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from ..dc.nodal_equations import NodalEquations
    from ..dc.situation import Situation
    from .failure_modes import Damage

    Floats = NDArray[np.float64]
    Places = NDArray[np.intp]

OFF = 1e-9
"""A by which a law may be off its tangent and count as on it (ours): a tenth of what Newton lets currents miss."""
SPARE = 1e-4
"""S of the tangent of a law that is not there (ours): with the little that is left of it an A would make too many V."""
MOST_ROUNDS = 30
"""This many times laws are added for one fault (ours)."""
MOST_STEPS = 40
"""This many steps of Newton each time (ours); a fault that takes more is solved plainly."""
HALVED = 30
"""This many times a step is halved that would make the currents miss zero by more (ours)."""


_Change = tuple[int, int, float]
"""The nodes between which conductance is added or taken away, in S."""


@dataclass(frozen=True)
class _Struck:
    """One fault solved: the volts of all nodes, the A of all laws, and whether they can be trusted."""

    volts: Floats
    law_amps: Floats
    good: bool


class Tangents(Ports):
    """The tangents of one situation."""

    def __init__(
        self, network: NodalEquations, situation: Situation, kept: Floats, setpoints: Mapping[str, float]
    ) -> None:
        """``kept``: V of the nodes that stay in the sound situation, its machines held at ``setpoints``."""
        import numpy as np

        super().__init__(network, situation)
        # What does not conduct here may in a situation near by: laws of all branches, of which some count as gone.
        every = situation.conducting.union(branch.key for branch in network.curved)
        self.laws = network.laws_of(replace(situation, conducting=every))
        self._gone = self._missing(situation)
        along = np.zeros(self.laws.bank.count)
        for machine in situation.machines:
            along[self.laws.place[source_of(machine.supply)]] = (
                setpoints[machine.supply] - network.regulated[machine.supply]
            )
        to = np.array(network.reduction.kept, dtype=np.intp)
        self._kept = to
        self.tops, self.bottoms = to[self.laws.tops], to[self.laws.bottoms]
        self.volts = network.all_volts(kept)
        self.across = self.volts[self.tops] - self.volts[self.bottoms]
        self.amps, self.slopes = self.law_amps(self.across, along, self._gone)
        self.slopes = np.where(self._gone, SPARE, self.slopes)
        self._ties = self._tied(situation, self._gone)
        places = network.conductances(situation, self._ties)
        self.answer = _factorised(self.volts.size, *places, self.tops, self.bottoms, self.slopes)
        self._ports: dict[int, Floats] = {}
        self._contacts: tuple[_Change, ...] = ()
        """What conducts otherwise than where the tangents were taken."""
        self._known: dict[tuple[int, int], Floats] = {}

    def law_amps(self, across: Floats, along: Floats, gone: NDArray[np.bool_]) -> tuple[Floats, Floats]:
        """What all laws take at these volts, each so far along, and by how much more a volt; some are ``gone``."""
        import numpy as np

        amps, slopes = self.laws.bank.both(across - along)
        return np.where(gone, GONE * across, amps), np.where(gone, GONE, slopes)

    def _missing(self, situation: Situation) -> NDArray[np.bool_]:
        """The laws that are not there in a situation."""
        import numpy as np

        guarded = {b.key for b in self.network.curved if not always(b)} - situation.conducting
        return np.array([key in guarded for key in self.laws.keys], dtype=bool)

    def _tied(self, situation: Situation, gone: NDArray[np.bool_]) -> tuple[int, ...]:
        there = (pair for pair, out in zip(self.laws.pairs, gone.tolist(), strict=True) if not out)
        return self.network.ties(situation, there)

    def switched(self, situation: Situation) -> Tangents | None:
        """The same in another situation, where only contacts and outputs differ, as changes to it: nothing has to be
        factorised again. ``None`` where more differs, or other islands are connected.
        """
        here, network = self.situation, self.network
        alike = (here.asleep, here.resting, here.steady) == (situation.asleep, situation.resting, situation.steady)
        running = [[(m.supply, m.amps) for m in each.machines] for each in (here, situation)]
        gone = self._missing(situation)
        if not alike or running[0] != running[1] or self._tied(situation, gone) != self._ties:
            return None
        differs = here.conducting ^ situation.conducting
        contacts = []
        for branch in network.guarded:
            if branch.key in differs and branch.key not in situation.paused and not always(branch):
                siemens = network.siemens(branch) * (1.0 if branch.key in situation.conducting else -1.0)
                contacts.append((network.index[branch.a], network.index[branch.b], siemens))
        other = copy(self)
        other.__dict__.pop("island", None)
        other.situation = situation
        other._gone = gone  # noqa: SLF001 -- its own class
        other._contacts = tuple(change for change in contacts if change[0] != change[1])  # noqa: SLF001
        return other

    def _contact(self, a: int, b: int) -> Floats:
        """As ``_current``, kept: one contact moves after many faults."""
        if (a, b) not in self._known:
            self._known[a, b] = self._current(a, b)
        return self._known[a, b]

    def _current(self, a: int, b: int) -> Floats:
        """The volts of all nodes for an A that goes in at one and comes out at another."""
        import numpy as np

        into = np.zeros(self.volts.size)
        into[a] += 1.0
        into[b] -= 1.0
        return self.answer(into)

    def port(self, law: int) -> Floats:
        """The volts across all laws for an A through one of them; kept, since one law is moved by many faults."""
        found = self._ports.get(law)
        if found is None:
            found = self._ports[law] = self.at_laws(self._current(self.tops[law], self.bottoms[law]))
        return found

    def at_laws(self, volts: Floats) -> Floats:
        found: Floats = volts[self.tops] - volts[self.bottoms]
        return found

    def strike(self, damages: Sequence[Damage], along: Floats, _start: Floats) -> Struck:
        """The situation after each of these, one at a time; ``along`` as ``Multiport`` has it."""
        import numpy as np

        found = [self._after(damage, along[row]) for row, damage in enumerate(damages)]
        volts = np.array([each.volts for each in found])
        good = np.array([each.good for each in found], dtype=bool)
        amps = np.array([each.law_amps for each in found])
        return Struck(volts[:, self._kept], volts, amps, good & np.isfinite(volts).all(axis=1))

    def _after(self, damage: Damage, along: Floats) -> _Struck:
        import numpy as np

        dead = self._gone.copy()
        for branch in damage.opened:
            if (place := self.laws.place.get(branch.key)) is not None:
                dead[place] = True
        changes = self.changes(damage)
        moved = [self._current(a, b) for a, b, _ in changes]
        off = None
        if len(changes) == 1 and changes[0][2] < 0.0:
            (a, b, siemens), (answer,) = changes[0], moved
            own = float(answer[a] - answer[b])
            if own * -siemens > 1.0 - CUT_OFF:  # it joined two halves between which nothing flows
                if self._contacts:
                    return self._untold()
                off = np.abs(answer) > 0.5 * own
                if np.abs(self.at_laws(answer)).max(initial=0.0) > 0.5 * own:
                    return self._untold()
                changes, moved = [], []
        contacts = [self._contact(a, b) for a, b, _ in self._contacts]
        case = _Case(self, [*changes, *self._contacts], [*moved, *contacts], dead, along)
        if not case.solve():
            return self._untold()
        volts = case.volts()
        if off is not None:
            volts[off] -= volts[self.half(off)]
        good = True
        if self.elsewhere(damage):
            self.own_zero(damage, volts)
            good = not damage.opened and not damage.resisting  # these may part what joins the islands' halves
        return _Struck(volts, case.law_amps, good)

    def _untold(self) -> _Struck:
        return _Struck(self.volts, self.amps, good=False)


class _Case:
    """One fault on its way: the laws that it moves off their tangents, and the A that these and its changes put in."""

    def __init__(
        self,
        of: Tangents,
        changes: Sequence[_Change],
        moved: Sequence[Floats],
        dead: NDArray[np.bool_],
        along: Floats,
    ) -> None:
        import numpy as np

        self._of = of
        self._dead, self._along = dead, along
        self._changes = changes
        self._siemens = np.array([siemens for _, _, siemens in changes])
        self._laws: list[int] = []
        sound = of.volts
        self._before = np.array([sound[a] - sound[b] for a, b, _ in changes])
        """V across each change in the sound situation."""
        own = [[each[a] - each[b] for each in moved] for a, b, _ in changes]
        self._own = np.array(own).reshape((len(changes),) * 2)
        """V across each change for an A through each of them."""
        self._to_laws = np.array([of.at_laws(each) for each in moved]).reshape(len(changes), of.laws.bank.count)
        """V across all laws for an A through each change, which is V across each change for an A through each law."""
        self._put = np.zeros(len(changes))
        self.law_amps = of.amps

    def _beyond(self, across: Floats) -> tuple[Floats, Floats, Floats]:
        """What all laws take, how far that is off their tangents, and by how much they are steeper."""
        of = self._of
        amps, slopes = of.law_amps(across, self._along, self._dead)
        return amps, amps - of.amps - of.slopes * (across - of.across), slopes - of.slopes

    def solve(self) -> bool:
        """Whether a solution was found."""
        import numpy as np

        of, count = self._of, len(self._changes)
        balanced = not count
        for _ in range(MOST_ROUNDS):
            across = of.across - self._put[:count] @ self._to_laws - self._put[count:] @ self._through
            self.law_amps, off, _ = self._beyond(across)
            off[self._laws] = 0.0
            more = np.flatnonzero(np.abs(off) > OFF)
            if balanced and not more.size:
                return True
            self._laws += more.tolist()
            self._put = np.concatenate((self._put, np.zeros(more.size)))
            balanced = self._balance()
            if not balanced:
                return False
        return False

    @property
    def _through(self) -> Floats:
        """V across all laws for an A through each law that is off its tangent."""
        import numpy as np

        of = self._of
        return np.array([of.port(law) for law in self._laws]).reshape(len(self._laws), of.laws.bank.count)

    def _balance(self) -> bool:
        """Find the A of the changes and of the laws off their tangents, by Newton; steps that overshoot are halved."""
        import numpy as np

        of, count = self._of, len(self._changes)
        laws = np.array(self._laws, dtype=np.intp)
        through = self._through
        to_laws = self._to_laws[:, laws]
        ports = np.block([[self._own, to_laws], [to_laws.T, through[:, laws]]])
        before = np.concatenate((self._before, of.across[laws]))
        whole = np.array(of.across)

        def put_at(volts: Floats) -> tuple[Floats, Floats]:
            """The A that the changes and laws put in at these volts across them, and by how much more a volt."""
            whole[laws] = volts[count:]
            _, off, steeper = self._beyond(whole)
            return (
                np.concatenate((self._siemens * volts[:count], off[laws])),
                np.concatenate((self._siemens, steeper[laws])),
            )

        volts = before - ports @ self._put
        amps, rise = put_at(volts)
        missing = volts - before + ports @ amps
        unit = np.eye(volts.size)
        for _ in range(MOST_STEPS):
            step = np.linalg.solve(unit + ports * rise, -missing)
            share, worst = 1.0, float(np.abs(missing).max(initial=0.0))
            for _ in range(HALVED):
                tried = volts + share * step
                amps, rise = put_at(tried)
                missing = tried - before + ports @ amps
                if float(np.abs(missing).max(initial=0.0)) <= worst * (1.0 - 0.1 * share) or worst == 0.0:
                    break
                share *= 0.5
            else:
                return False
            volts = tried
            if float(np.abs(missing).max(initial=0.0)) < STILL:
                self._put = amps
                return True
        return False

    def volts(self) -> Floats:
        """The volts of all nodes."""
        import numpy as np

        of, count = self._of, len(self._changes)
        into = np.zeros(of.volts.size)
        for (a, b, _), amps in zip(self._changes, self._put[:count], strict=True):
            into[a] += amps
            into[b] -= amps
        np.add.at(into, of.tops[self._laws], self._put[count:])
        np.subtract.at(into, of.bottoms[self._laws], self._put[count:])
        found: Floats = of.volts - of.answer(into)
        return found


STILL = 1e-11
"""V by which the volts across what is put right may still miss what the currents make of them (ours)."""


def _factorised(
    size: int, rows: Places, columns: Places, siemens: Floats, tops: Places, bottoms: Places, slopes: Floats
) -> Callable[[Floats], Floats]:
    """What gives the volts of all nodes for currents into them: conductances, and laws by their slopes."""
    import numpy as np
    from scipy.sparse import csc_array
    from scipy.sparse.linalg import splu

    values = np.concatenate((siemens, slopes, slopes, -slopes, -slopes))
    places = (
        np.concatenate((rows, tops, bottoms, tops, bottoms)),
        np.concatenate((columns, tops, bottoms, bottoms, tops)),
    )
    found: Callable[[Floats], Floats] = splu(csc_array((values, places), shape=(size, size))).solve
    return found
