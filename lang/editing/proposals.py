"""Proposals: what to do, in words, and the changes of the text that do it.

A change names parts, wires and terminals as the text does; ``fixing`` makes edits of it. Rules make these as they find
something, so that nothing heavy is loaded here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..named_tuples import NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from ..quantities.size import Size


class Resize(NamedTuple):
    """Other sizes of wires, and other ratings of fuses in A."""

    sizes: tuple[tuple[str, Size], ...] = ()
    ratings: tuple[tuple[str, float], ...] = ()


class SwapEnds(NamedTuple):
    """All wires, mounts and caps at two terminals (``LAMP.1``) exchanged."""

    one: str
    other: str


class MoveEnd(NamedTuple):
    """The end of a wire, or the mount where ``wire`` is empty, that is at one terminal, put on another."""

    wire: str
    old: str
    new: str


class SwapWords(NamedTuple):
    """Two words exchanged on the line of a part's block that begins with ``first``."""

    part: str
    first: str
    one: str
    other: str


class SetWord(NamedTuple):
    """One word on the own line of a part or a wire put in the place of another, or behind ``behind`` where it is
    missing; nothing in its place where ``new`` is empty.
    """

    name: str
    old: str
    new: str


class AddWords(NamedTuple):
    """Words put at the end of the own line of a part or a wire."""

    name: str
    words: str


class SetQuantity(NamedTuple):
    """The quantity of a dimension (``voltage``, ``length``, ``count`` for ways) on the own line of a part or a wire;
    none where ``text`` is empty.
    """

    name: str
    dimension: str
    text: str


class TurnWire(NamedTuple):
    """A wire written from its other end: what it runs through is then met from the other side."""

    name: str


class AddLine(NamedTuple):
    """A separate statement, behind the last of its kind."""

    text: str


class DropLine(NamedTuple):
    """The statement on a line of a file, which has no block."""

    file: str
    line: int


Change = Resize | SwapEnds | MoveEnd | SwapWords | SetWord | AddWords | SetQuantity | TurnWire | AddLine | DropLine


class Proposal(NamedTuple):
    """A fix: ``says`` is an imperative with target and place; the changes together do it. ``wires``: those that the
    words end with, where the same can be said of more of them at once.
    """

    says: str
    changes: tuple[Change, ...]
    wires: tuple[str, ...] = ()


def swap(one: str, other: str, *, first: str = "") -> Proposal:
    """The wires at two terminals exchanged; ``first`` says what is to be looked at before that."""
    return Proposal(f"{first}swap the wires at {one} and {other}", (SwapEnds(one, other),))


def for_wires(do: str, wires: Sequence[str], changes: Iterable[Change]) -> Proposal:
    """What is done alike ``for`` each of some wires."""
    return Proposal(f"{do}{_to_wires(wires)}", tuple(changes), tuple(wires))


def _to_wires(wires: Sequence[str]) -> str:
    return f" for wire{'s' if len(wires) > 1 else ''} {', '.join(wires)}"


def resized(wire: str, size: Size | None) -> tuple[Proposal, ...]:
    """A wire of another size or a thicker one, where one is known."""
    if size is None:
        return ()
    return (thicker({wire: size}),)


def thicker(sizes: Mapping[str, Size]) -> Proposal:
    """Wires of other sizes or thicker ones, those of one size named together."""
    by_size: dict[str, list[str]] = {}
    for name, size in sizes.items():
        by_size.setdefault(size.text, []).append(name)
    says = "; ".join(f"use {text} or thicker{_to_wires(of)}" for text, of in by_size.items())
    wires = tuple(sizes) if len(by_size) == 1 else ()
    return Proposal(says, (Resize(sizes=tuple(sizes.items())),), wires)


def _sizes_alone(proposals: Sequence[Proposal]) -> dict[str, Size]:
    """The greatest size that some proposals give each wire; none where one of them does anything else."""
    largest: dict[str, Size] = {}
    for change in (change for each in proposals for change in each.changes):
        if not isinstance(change, Resize) or change.ratings:
            return {}
        for wire, size in change.sizes:
            if wire not in largest or size.area > largest[wire].area:
                largest[wire] = size
    return largest


def of_one_size(proposals: Sequence[Proposal]) -> tuple[Proposal, ...]:
    """The same proposals, in their order, where each wire that several of them make thicker gets the greatest of these
    sizes in all: who follows one would have to do it twice. Those that do anything else stay as they are.
    """
    sized = [_sizes_alone((each,)) for each in proposals]
    largest = _sizes_alone([each for each, sizes in zip(proposals, sized, strict=True) if sizes])
    return tuple(
        thicker({wire: largest[wire] for wire in sizes}) if sizes and each == thicker(sizes) else each
        for each, sizes in zip(proposals, sized, strict=True)
    )


def together(proposals: Iterable[Proposal]) -> Proposal:
    """Several proposals done at once; what is done alike for some wires is stated once, and of two sizes of one wire
    the greater one is used.
    """
    proposals = tuple(proposals)
    if sizes := _sizes_alone(proposals):
        return thicker(sizes)
    said: dict[str, list[str]] = {}
    changes: list[Change] = []
    for each in proposals:
        of = said.setdefault(each.says.removesuffix(_to_wires(each.wires)) if each.wires else each.says, [])
        of.extend(wire for wire in each.wires if wire not in of)
        changes.extend(change for change in each.changes if change not in changes)
    words = "; ".join(f"{do}{_to_wires(wires)}" if wires else do for do, wires in said.items())
    return Proposal(words, tuple(changes))
