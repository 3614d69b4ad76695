"""What rows that are as expected rule out: the single faults under which their own readings could not have been so.

Every row is predicted as its stage has the motorcycle: with the battery off as ``AtRest.meter`` has it, fuses out and
what the setting names unplugged; at first power as ``Moment.watched`` has it, later fuses out, a lamp in the place of
one, the starter's cable off. What a row reads nothing of, it clears nothing of.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Final

from ...diagnosis.ruled_out import RuledOut
from ...fmea.bad_joints import BAD
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


def ruled_out(proof: Proof, good: Iterable[Row]) -> RuledOut:
    """The faults that would have changed the very reading of a row.

    A voltmeter tells nothing of a lamp, nor a lamp of the next one: that is dead perhaps, and told in another row.
    """
    rows = list(good)
    at_rest = [row.number for row in rows if row.stage == 2]
    known = cleared_at_rest(proof.at_rest, at_rest) if at_rest else RuledOut()
    found = set(known.faults)
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
    return RuledOut(frozenset(found), known.joints)


def with_joints(proof: Proof, good: Iterable[Row], known: RuledOut, keys: Collection[str]) -> RuledOut:
    """The same with what rows of first power allow bad joints in some branches, by key: many solutions each, so that
    only suspects are asked about.
    """
    joints = dict(known.joints)
    for row in good:
        moment = proof.moment(row.number) if row.stage == 3 else None
        if moment is not None:
            here = moment.watched.point.circuit.by_key
            for key, ohms in _most_ohms(moment, [here[key] for key in sorted(keys) if key in here]).items():
                joints[key] = min(joints.get(key, ohms), ohms)
    return RuledOut(known.faults, joints)


OHMS: Final = (0.1, 0.3, 1.0, 3.0, 10.0, 30.0, 100.0, 300.0, 1e3, 1e4)
"""ohm of bad joints that are tried against a row, by half a decade at first (ours)."""
FINER: Final = 6
"""Into as many steps each of these is parted then (ours): by a fifth, as near as a reading is."""


def _most_ohms(moment: Moment, branches: Sequence[Branch]) -> dict[str, float]:
    """By key, the ohms too many that a joint may have where a row of first power is as expected: the fewest that were
    tried from which on it would have differed.
    """
    bad = [b for b in branches if b.branch_type in BAD and moment.watched.point.connectivity.conducts(b)]
    between = _brackets(moment, dict.fromkeys(bad, OHMS))
    finer = {branch: _steps(least, most) for branch, (least, most) in between.items() if least > 0.0}
    between.update(_brackets(moment, finer))
    return {branch.key: most for branch, (_, most) in between.items()}


def _steps(least: float, most: float) -> tuple[float, ...]:
    """Rising from ``least`` to ``most``, each by the same factor."""
    return tuple(least * (most / least) ** (n / FINER) for n in range(FINER + 1))


def _brackets(moment: Moment, tried: Mapping[Branch, Sequence[float]]) -> dict[Branch, tuple[float, float]]:
    """The most of some rising ohms in a branch that a row does not show, nothing where it shows all, and the next; not
    of a branch whose most ohms are not shown.
    """
    asked = [(branch, ohms) for branch, each in tried.items() for ohms in each]
    damages = [Damage(resisting=((branch, ohms),)) for branch, ohms in asked]
    told = moment.watched.noticed(damages, moment.bands, moment.answers, moment.at)
    last = dict.fromkeys(tried, -1)
    for (branch, ohms), shown in zip(asked, told, strict=True):
        if not shown:
            last[branch] = tried[branch].index(ohms)
    return {
        branch: (tried[branch][i] if i >= 0 else 0.0, tried[branch][i + 1])
        for branch, i in last.items()
        if i + 1 < len(tried[branch])
    }


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
