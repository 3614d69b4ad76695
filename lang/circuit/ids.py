"""What names a branch and an end: its owner, what it is of that, and which. Text is made of it where it is shown.

Nothing takes such a text apart again: whoever needs the owner, the role or the terminal asks for ``.owner``, ``.role``,
``.part`` or ``.terminal``.

Both are a ``str`` besides, equal to their text, so that they are keys as quick as text, and rules of users and readers
of JSON may name a branch or an end by its plain text. A cold check of ``specs/stock.loom`` asks 282,000 times for their
hash and 85,000 times whether two are equal: 6 ms of its 440 ms, where frozen dataclasses of the same fields take 35 ms
and named tuples 11 ms.
"""

from __future__ import annotations

from collections.abc import Iterable
from enum import Enum
from functools import lru_cache
from typing import Final

from ..model.parts import Mount, Unit, UnitSupply
from ..model.wires import End, Segment

__all__ = [
    "INNER",
    "BranchId",
    "End",
    "Path",
    "Role",
    "bolted",
    "coil_of",
    "field_of",
    "inside",
    "mounting",
    "owner_of",
    "piece_of",
    "source_of",
    "spelled",
    "unit_supply",
]


class Role(Enum):
    """What a branch is of its owner: a wire's conductor, a way of a connector, the coil of a relay."""

    WIRE = "wire"
    CAVITY = "cavity"
    MOUNT = "mount"
    BODY = "body"
    PART = "part"
    CONTACT = "contact"
    LEG = "leg"
    COIL = "coil"
    FIELD = "field"
    SUPPLY = "supply"
    COMMON = "common"
    PILOT = "pilot"
    PASS = "passes"  # noqa: S105 -- a regulator that lets current pass
    CUT_OUT = "cut-out"
    ELEMENT = "element"
    WINDING = "winding"
    OUTPUT = "output"
    LATCH = "latch"
    SIGNAL = "signal"
    SHORT = "short to ground"
    SOURCE = "source"
    TAP = "tap"


MOST_KEPT: Final = 4096
"""This many names are kept that are asked for again and again while circuits are solved (ours)."""

INNER: Final = frozenset({Role.CAVITY, Role.ELEMENT, Role.WINDING, Role.OUTPUT, Role.LATCH, Role.SIGNAL})
"""What a part has several of, by a name that is written after its own and a dot."""
_PAIR: Final = frozenset({Role.CONTACT, Role.LEG})


class BranchId(str):
    """The name of a branch, that no other in its circuit has; of a source and each of its taps, and of a latch or a
    signal of a unit, which have no branch, too.

    ``owner`` is the wire or the part; ``detail`` tells apart what it has several of (the number of a way or of a wire's
    piece, the two terminals of a contact, the name of an element; for a ``MOUNT`` the terminal, for a ``BODY`` the
    ground that it is bolted to). ``through`` is the joint of a mount that is not to be relied on. ``nth`` counts those
    of which all else is equal: a pair of terminals in two rows of a relay.
    """

    __slots__ = ("detail", "nth", "owner", "role", "through")
    owner: str
    role: Role
    detail: str
    through: str
    nth: int

    def __new__(cls, owner: str, role: Role, detail: str = "", *, through: str = "", nth: int = 1) -> BranchId:
        made = super().__new__(cls, _text(owner, role, detail, through, nth))
        made.owner, made.role, made.detail, made.through, made.nth = owner, role, detail, through, nth
        return made

    def __getnewargs_ex__(self) -> tuple[tuple[str, Role, str], dict[str, str | int]]:
        """For ``copy``, which would make it of its text alone."""
        return (self.owner, self.role, self.detail), {"through": self.through, "nth": self.nth}

    @property
    def first(self) -> BranchId:
        """The first of those of which all but the number is equal."""
        return self if self.nth == 1 else self.numbered(1)

    def numbered(self, nth: int) -> BranchId:
        return BranchId(self.owner, self.role, self.detail, through=self.through, nth=nth)

    def of(self, owner: str) -> BranchId:
        """The same of another wire or part."""
        return BranchId(owner, self.role, self.detail, through=self.through, nth=self.nth)


def _text(owner: str, role: Role, detail: str, through: str, nth: int) -> str:
    """How a branch is spelled: ``wire 12``, ``C1.3``, ``KEY 30-15``, ``K1 coil``, ``mount REAR.31``."""
    if role is Role.WIRE:
        text = f"wire {owner}.{detail}" if detail else f"wire {owner}"
    elif role in INNER:
        text = f"{owner}.{detail}"
    elif role in _PAIR:
        text = f"{owner} {detail}"
    elif role is Role.PART:
        text = owner
    elif role is Role.SOURCE:
        text = f"{owner}.{detail}" if detail else owner
    elif role is Role.MOUNT:
        text = f"mount {End(owner, detail)}"
    elif role is Role.BODY:
        text = f"mount {owner} to {detail}"
    elif role is Role.SHORT:
        text = role.value
    else:
        text = f"{owner} {role.value} {detail}" if detail else f"{owner} {role.value}"
    return text + (f" through {through}" if through else "") + (f" #{nth}" if nth > 1 else "")


Path = tuple[BranchId | End | str, ...]
"""The way of a current: branches, ends and places, in order."""


def spelled(path: Iterable[object]) -> str:
    """A path as it is shown."""
    return " - ".join(str(step) for step in path)


def owner_of(name: str) -> str:
    """The wire or part that a branch or an end belongs to; any other name is its own."""
    if isinstance(name, BranchId):
        return name.owner
    return name.part if isinstance(name, End) else name


def piece_of(segment: Segment) -> BranchId:
    """The branch of a piece of wire."""
    return BranchId(segment.wire, Role.WIRE, str(segment.number) if segment.number else "")


def mounting(mount: Mount) -> BranchId:
    """The branch of a mount."""
    if mount.terminal:
        return BranchId(mount.part, Role.MOUNT, mount.terminal, through=mount.through or "")
    return BranchId(mount.part, Role.BODY, mount.ground, through=mount.through or "")


def bolted(mount: Mount) -> BranchId:
    """Two bodies of ground on each other, through whatever joint."""
    return BranchId(mount.part, Role.BODY, mount.ground)


@lru_cache(MOST_KEPT)
def inside(owner: str, inner: str, role: Role = Role.ELEMENT) -> BranchId:
    """An element of a load, a winding of a source, or an output, a latch or a signal input of a unit, by its name."""
    return BranchId(owner, role, inner)


@lru_cache(MOST_KEPT)
def coil_of(relay: str) -> BranchId:
    """The coil of a relay."""
    return BranchId(relay, Role.COIL)


def field_of(machine: str) -> BranchId:
    """The field winding of a machine."""
    return BranchId(machine, Role.FIELD)


@lru_cache(MOST_KEPT)
def winding_of(sensor: str) -> BranchId:
    """The winding of a sensor, or whatever else it has between the two terminals of its signal."""
    return BranchId(sensor, Role.PART)


@lru_cache(MOST_KEPT)
def source_of(part: str, winding: str = "") -> BranchId:
    """A source; one of the windings of a part that has several."""
    return BranchId(part, Role.SOURCE, winding)


def unit_supply(unit: Unit, supply: UnitSupply) -> BranchId:
    """The branch by which a unit takes its own current at a supply."""
    return inside(unit.name, supply.name, Role.SUPPLY)
