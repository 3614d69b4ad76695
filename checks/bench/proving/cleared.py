"""What rows that are as expected rule out: the single faults under which their own readings could not have been so.

Every row is predicted as its stage has the motorcycle: with the battery off as ``AtRest.meter`` has it, fuses out and
what the setting names unplugged; at first power as ``Moment.watched`` has it, later fuses out, a lamp in the place of
one, the starter's cable off. What a row reads nothing of, it clears nothing of.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import TYPE_CHECKING

from ...fmea.failure_modes import SHORT, Damage
from ...fmea.shorts import Shorts
from ...protection.protection import Protection
from .copper import copper
from .explaining import cleared_at_rest

if TYPE_CHECKING:
    from ....lang.circuit.branch import Branch
    from ....lang.circuit.circuit import Circuit
    from ....lang.circuit.ids import End
    from .moments import Moment
    from .plan import Proof
    from .rows import Row


def ruled_out(proof: Proof, good: Iterable[Row]) -> frozenset[str]:
    """The faults, in words of ``fmea.failure_modes.Fault``, that would have changed the very reading of a row.

    A voltmeter tells nothing of a lamp, nor a lamp of the next one: that is dead perhaps, and told in another row.
    """
    rows = list(good)
    at_rest = [row.number for row in rows if row.stage == 2]
    found = set(cleared_at_rest(proof.at_rest, at_rest)) if at_rest else set()
    motorcycle = proof.first_power.motorcycle
    for row in rows:
        moment = proof.moment(row.number) if row.stage == 3 else None
        if moment is None:
            continue
        here = moment.watched.point.circuit.by_key
        left = [b for b in motorcycle.faults if f"{b.key} open" not in found and b.key in here]
        opened = moment.watched.shown(left, moment.bands, looking=moment.answers, at=moment.at)
        found.update(f"{key} open" for key in opened)
        found.update(f"{key} {SHORT}" for key in _shorted(moment, found))
    return frozenset(found)


def _shorted(moment: Moment, known: Collection[str]) -> list[str]:
    """The keys of the wires that cannot be shorted to ground where a row of first power is as expected; ``known`` are
    ruled out already.

    Both while the fuse before it holds and once it has blown: who reads the row may come a moment later.
    """
    point = moment.watched.point
    wires = pieces(point.circuit)
    left = [end for end, keys in wires.items() if any(f"{key} {SHORT}" not in known for key in keys)]
    shorts = Shorts(point, Protection(point.circuit)).all()
    blown: dict[str, tuple[Branch, ...]] = {s.key: s.damage.opened for s in shorts if s.damage is not None}
    held = moment.watched.noticed([Damage(grounded=end) for end in left], moment.bands, moment.answers, moment.at)
    asked = [end for end, shown in zip(left, held, strict=True) if shown]
    damages = [Damage(blown.get(wires[end][0], ()), grounded=end) for end in asked]
    after = moment.watched.noticed(damages, moment.bands, moment.answers, moment.at)
    return [key for end, shown in zip(asked, after, strict=True) if shown for key in wires[end]]


def pieces(circuit: Circuit) -> dict[End, list[str]]:
    """The keys of the wires in each piece of copper of a circuit as it is, by a terminal of it; the ground's apart."""
    together = copper(circuit)
    ground = together.leader(circuit.ground) if circuit.ground in together.leaders else None
    found: dict[End, list[str]] = {}
    for branch in circuit.branches:
        if branch.segment is not None and together.leader(branch.b) != ground:
            found.setdefault(together.leader(branch.b), []).append(branch.key)
    return found
