"""One question asked of a harness over the controls that both harnesses have, and how two answers differ.

An answer is a table over common controls: **may**, it holds in some position of what only this harness has and in some
settled condition that can be reached; **must**, it holds in all of them. Tables are arrays with an axis a control that
the answer depends on, so that two of them are compared by broadcasting.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import numpy as np

from ...lang.records import dataclass

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Sequence

    from numpy.typing import NDArray

    from ..behaviour import Question
    from ..logic import SwitchingLogic
    from ..logic.state_space import StateSpace
    from ..logic.truth_tables import Table
    from .matching import Common

    Flags = NDArray[np.bool_]

Side = Literal["old", "new"]
SIDES: tuple[Side, Side] = ("old", "new")
Row = Literal["lost", "gained", "depends", "independent", "instead", "weakly-lost", "weakly-gained"]
ROWS: tuple[Row, ...] = ("lost", "gained", "depends", "independent", "instead")
"""Those that tables tell. Of what is fed through other loads numbers tell the rest (``weakly``)."""


@dataclass(frozen=True, slots=True)
class Answer:
    """``axes``: places in the common controls, in order, an axis of each table. ``there``: combinations that can come
    about. ``likely``: those that a rider can meet with. ``private``: what else of this harness it depends on. ``weak``:
    the parts on which it depends and of which logic alone cannot tell whether they work, on what comes through loads.
    """

    axes: tuple[int, ...]
    there: Flags
    likely: Flags
    may: Flags
    must: Flags
    private: tuple[str, ...]
    weak: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Difference:
    """Where two answers differ in one way: the common positions that show it, nearest to rest, as places in labels.

    ``shown``: the controls, by place, that must be so. ``at``: every common control that either answer depends on.
    ``implausible``: only combinations that a rider hardly meets show it.
    """

    row: Row
    at: tuple[tuple[int, int], ...]
    shown: tuple[tuple[int, int], ...]
    implausible: bool


@dataclass(frozen=True, slots=True)
class Domain:
    """What is the same for all questions that are asked of one scope.

    ``own``: the controls of this harness alone; ``whole``: all that is no common control. ``exists``: the combinations
    that can come about; by common controls ``there``, and those that a rider can meet with ``likely``.
    """

    own: tuple[str, ...]
    whole: tuple[str, ...]
    exists: Table
    there: Table
    likely: Table


def domain_of(scope: StateSpace, place: Collection[str]) -> Domain:
    """``place``: the names of the common controls."""
    own = tuple(name for name in scope.visible if name not in place and name not in scope.free)
    beyond = (*scope.bits, *scope.free)
    whole = (*beyond, *own)
    exists = scope.some(scope.counted, beyond)
    return Domain(own, whole, exists, scope.some(exists, own), scope.some(scope.counted & scope.plausible, whole))


def answer(
    logic: SwitchingLogic,
    question: Question,
    common: Sequence[Common],
    side: Side,
    domains: dict[StateSpace, Domain] | None = None,
) -> Answer:
    """The answer of one harness; ``domains``: what is known of its scopes already. Raises ``TooWideError``."""
    scope = logic.scope(question)
    place = {(each.old if side == "old" else each.new): i for i, each in enumerate(common)}
    known = domains if domains is not None else {}
    if scope not in known:
        known[scope] = domain_of(scope, place)
    domain = known[scope]
    own, whole, exists, there, likely = domain.own, domain.whole, domain.exists, domain.there, domain.likely
    table = question.table(scope) & scope.counted
    lacks = exists & (exists ^ scope.must(table)) if table else exists
    may, fails = scope.some(table, whole), scope.some(lacks, own)
    flat = (there, likely, may, fails)
    axes = [n for n in scope.visible if n in place and any(scope.depends(each, n) for each in flat)]
    array = _arrays(scope, axes)
    tables: list[Flags] = [array(each) for each in flat]
    put_together = []
    for axis, name in enumerate(axes):
        positions = scope.by_name[name].positions
        meant = [label.old if side == "old" else label.new for label in common[place[name]].labels]
        if meant != [{position} for position in positions]:
            chosen = [[position in each for position in positions] for each in meant]
            tables = [_gathered(each, axis, chosen) for each in tables]
            put_together.append(place[name])
    order = sorted(range(len(axes)), key=lambda i: place[axes[i]])
    tables[3] = tables[0] & ~tables[3]
    tables = [np.transpose(each, order) for each in tables]
    places = [place[axes[i]] for i in order]
    for axis in reversed(range(len(places))):
        if places[axis] in put_together and all((each == each.take([0], axis)).all() for each in tables):
            tables = [each[(slice(None),) * axis + (0,)] for each in tables]
            del places[axis]
    moved = tuple(name for name in own if _matters(scope, table, lacks, whole, name))
    doubts = [(name, doubt) for name, doubt in logic.network.doubts.items() if name in whole]
    weak = tuple(doubt.part for name, doubt in doubts if _matters(scope, table, lacks, whole, name))
    return Answer(tuple(places), tables[0], tables[1], tables[2], tables[3], moved, weak)


def _matters(scope: StateSpace, holds: Table, fails: Table, beyond: Sequence[str], name: str) -> bool:
    """Whether an answer depends on a control of this harness alone."""
    others = [other for other in beyond if other != name]
    return scope.depends(scope.some(holds, others), name) or scope.depends(scope.some(fails, others), name)


def _arrays(scope: StateSpace, axes: Sequence[str]) -> Callable[[Table], Flags]:
    """What makes an array of a table that depends on some variables alone, an axis a variable."""
    names = [variable.name for variable in scope.variables]
    shape = [len(variable.positions) for variable in scope.variables][::-1]
    at = tuple(slice(None) if name in axes else 0 for name in reversed(names))
    order = [name for name in reversed(names) if name in axes]
    turned = [order.index(name) for name in axes]

    def array(table: Table) -> Flags:
        raw = np.frombuffer(table.to_bytes((scope.size + 7) // 8, "little"), dtype=np.uint8)
        bits = np.unpackbits(raw, count=scope.size, bitorder="little").astype(bool)
        return np.transpose(bits.reshape(shape)[at], turned)

    return array


def _gathered(table: Flags, axis: int, chosen: Sequence[Sequence[bool]]) -> Flags:
    """The table with the positions of one control put together to labels: where it holds in any of them."""
    return np.stack([table.compress(mask, axis).any(axis) for mask in chosen], axis)


def differences(old: Answer, new: Answer, common: Sequence[Common]) -> tuple[Difference, ...]:
    """How two answers to one question differ, each way once, in the order of ``ROWS``."""
    if old.axes == new.axes and not new.private and (old.may == new.may).all() and (old.must == new.must).all():
        return ()
    axes = tuple(sorted({*old.axes, *new.axes}))
    was, now = _spread(old, axes, common), _spread(new, axes, common)
    both = was.there & now.there
    old_all, new_all = (_stands_for_all(axes, common, side) for side in SIDES)
    # Beside a position that only one side has, every position of the other is no separate condition.
    rows: dict[Row, Flags] = {
        "lost": np.where(old_all, was.must, was.may) & ~now.may,
        "gained": ~was.may & np.where(new_all, now.must, now.may),
        "depends": was.must & now.may & ~now.must & ~new_all,
        "independent": was.may & ~was.must & now.must & ~old_all,
        "instead": was.may & ~was.must & now.may & ~now.must & ~old_all & ~new_all,
    }
    found = []
    for row in ROWS:
        if row == "instead" and (not new.private or set(old.private) == set(new.private)):
            continue
        differs = rows[row] & both
        if differs.any():
            found.append(_shown(row, differs, differs | ~both, was.likely & now.likely, axes))
    return tuple(found)


def _stands_for_all(axes: tuple[int, ...], common: Sequence[Common], side: Side) -> Flags:
    """Where a control of one side is put in all of its positions, since only the other side has this one."""
    shape = tuple(len(common[axis].labels) for axis in axes)
    found: Flags = np.zeros(shape, dtype=np.bool_)
    for place, axis in enumerate(axes):
        whole = [len(label.old if side == "old" else label.new) > 1 for label in common[axis].labels]
        found = found | np.array(whole).reshape([-1 if i == place else 1 for i in range(len(axes))])
    return found


def _spread(one: Answer, axes: tuple[int, ...], common: Sequence[Common]) -> Answer:
    """The same answer with an axis for each of these controls."""
    index = tuple(slice(None) if axis in one.axes else None for axis in axes)
    shape = tuple(len(common[axis].labels) for axis in axes)
    there, likely, may, must = (
        np.broadcast_to(each[index] if axes else each, shape) for each in (one.there, one.likely, one.may, one.must)
    )
    return Answer(axes, there, likely, may, must, one.private, one.weak)


WEAK_TRIED = 8
"""This many combinations in which logic leaves both harnesses open are solved in both, nearest to rest first (ours)."""


def left_open(old: Answer, new: Answer, common: Sequence[Common]) -> tuple[tuple[tuple[int, int], ...], ...]:
    """Combinations in which neither answer is settled, nearest to rest: every common control that either depends on,
    as places in labels.
    """
    if not old.weak and not new.weak:
        return ()
    axes = tuple(sorted({*old.axes, *new.axes}))
    was, now = _spread(old, axes, common), _spread(new, axes, common)
    either = was.may & ~was.must & now.may & ~now.must & was.likely & now.likely
    either &= ~(_stands_for_all(axes, common, "old") | _stands_for_all(axes, common, "new"))
    where = sorted(np.argwhere(either).tolist(), key=lambda at: (sum(each > 0 for each in at), at))
    return tuple(tuple(zip(axes, at, strict=True)) for at in where[:WEAK_TRIED])


def _shown(row: Row, differs: Flags, same: Flags, likely: Flags, axes: tuple[int, ...]) -> Difference:
    """The combination nearest to rest that differs, likely ones first, and which controls must be so in it."""
    plausible = differs & likely
    chosen = plausible if plausible.any() else differs
    where = np.argwhere(chosen)
    steps = (where > 0).sum(axis=1)
    at = tuple(int(i) for i in where[int(np.argmin(steps))])
    cube: list[int | slice] = list(at)
    for axis in sorted(range(len(axes)), key=lambda i: at[i] != 0):  # those at rest first
        wider = [slice(None) if i == axis else part for i, part in enumerate(cube)]
        if same[tuple(wider)].all():
            cube = wider
    needed = tuple((axes[i], at[i]) for i, part in enumerate(cube) if not isinstance(part, slice))
    return Difference(row, tuple(zip(axes, at, strict=True)), needed, not plausible.any())
