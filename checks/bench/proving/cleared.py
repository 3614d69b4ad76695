"""What rows that are as expected rule out: the single faults under which their own readings could not have been so.

Every row is predicted as its stage has the motorcycle: with the battery off as ``AtRest.meter`` has it, fuses out and
what the setting names unplugged; at first power as ``Moment.watched`` has it, later fuses out, a lamp in the place of
one, the starter's cable off. What a row reads nothing of, it clears nothing of.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Final

from ....lang.circuit.branch_types import Direction
from ....lang.named_tuples import NamedTuple
from ...diagnosis.ruled_out import RuledOut
from ...fmea.bad_joints import BAD
from ...fmea.failure_modes import SHORT, Damage
from ...fmea.propagation import Propagation
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
        found.update(f"{key} open" for key in _opened_inside(moment, found))
        found.update(f"{key} {SHORT}" for key in _shorted(moment, found))
    return RuledOut(frozenset(found), known.joints)


def with_joints(proof: Proof, good: Iterable[Row], known: RuledOut, keys: Collection[str]) -> RuledOut:
    """The same with what rows of first power allow bad joints in some branches, by key: many solutions each, so that
    only suspects are asked about.
    """
    joints = dict(known.joints)
    moments = [moment for row in good if row.stage == 3 and (moment := proof.moment(row.number)) is not None]
    coarse = [_brackets(moment, dict.fromkeys(_joints(moment, keys), OHMS)) for moment in moments]
    most = {
        key: min(brackets[key].most for brackets in coarse if key in brackets)
        for key in sorted({key for brackets in coarse for key in brackets})
    }
    for moment, brackets in zip(moments, coarse, strict=True):
        here = moment.watched.point.circuit.by_key
        # A row that allows more than another's most says nothing more, however finely it is asked.
        finer = {here[key]: found.steps for key, found in brackets.items() if 0.0 < found.least < most[key]}
        for key, found in (brackets | _brackets(moment, finer)).items():
            joints[key] = min(joints.get(key, found.most), found.most)
    return RuledOut(known.faults, joints)


OHMS: Final = (0.1, 0.3, 1.0, 3.0, 10.0, 30.0, 100.0, 300.0, 1e3, 1e4)
"""ohm of bad joints that are tried against a row, by half a decade at first (ours)."""
FINER: Final = 6
"""Into as many steps each of these is parted then (ours): by a fifth, as near as a reading is."""


class _Bracket(NamedTuple):
    """The most of some rising ohms that a row does not show, nothing where it shows all, and the next one."""

    least: float
    most: float

    @property
    def steps(self) -> tuple[float, ...]:
        """Rising from the one to the other, each by the same factor."""
        return tuple(self.least * (self.most / self.least) ** (n / FINER) for n in range(FINER + 1))


def _joints(moment: Moment, keys: Collection[str]) -> list[Branch]:
    """Of some branches, by key, those that a bad joint in a row of first power would change."""
    here = moment.watched.point.circuit.by_key
    asked = [here[key] for key in sorted(keys) if key in here]
    return [b for b in asked if b.branch_type in BAD and moment.watched.point.connectivity.conducts(b)]


def _brackets(moment: Moment, tried: Mapping[Branch, Sequence[float]]) -> dict[str, _Bracket]:
    """By key, between which two of some rising ohms a row begins to show a bad joint; not of a branch whose most ohms
    it does not show, which are tried first.
    """
    most = {branch: (ohms[-1],) for branch, ohms in tried.items()}
    left = {branch: tried[branch][:-1] for branch, (shown,) in _shown(moment, most).items() if shown}
    found: dict[str, _Bracket] = {}
    for branch, shown in _shown(moment, left).items():
        hidden = max((place for place, each in enumerate(shown) if not each), default=-1)
        found[branch.key] = _Bracket(tried[branch][hidden] if hidden >= 0 else 0.0, tried[branch][hidden + 1])
    return found


def _shown(moment: Moment, tried: Mapping[Branch, Sequence[float]]) -> dict[Branch, list[bool]]:
    """Whether a row shows each of some ohms in a branch."""
    damages = [Damage(resisting=((branch, ohms),)) for branch, each in tried.items() for ohms in each]
    told = iter(moment.watched.noticed(damages, moment.bands, moment.answers, moment.at))
    return {branch: [next(told) for _ in each] for branch, each in tried.items()}


def _opened_inside(moment: Moment, known: Collection[str]) -> list[str]:
    """The keys of what cannot be open inside a part, as a filament or a winding, where a row of first power is as
    expected; ``known`` are ruled out already.
    """
    idle = Propagation(moment.watched.operation, moment.watched.point).idle
    asked = [
        branch
        for branch in moment.watched.point.circuit.branches
        if branch.branch_type.joined is Direction.NEVER and f"{branch.key} open" not in known and not idle(branch)
    ]
    damages = [Damage((branch,)) for branch in asked]
    shown = moment.watched.noticed(damages, moment.bands, moment.answers, moment.at)
    return [branch.key for branch, told in zip(asked, shown, strict=True) if told]


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
