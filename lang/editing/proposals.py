"""Proposals: what to do, in words, and the changes of the text that do it.

A change names parts, wires and terminals as the text does; ``mending`` makes edits of it. Rules make these as they find
something, so that nothing heavy is loaded here.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
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
    """The quantity of a dimension (``voltage``, ``length``) on the own line of a part or a wire; none where ``text``
    is empty.
    """

    name: str
    dimension: str
    text: str


class AddLine(NamedTuple):
    """A statement of its own, behind the last of its kind."""

    text: str


class DropLine(NamedTuple):
    """The statement on a line of a file, which has no block."""

    file: str
    line: int


Change = Resize | SwapEnds | MoveEnd | SwapWords | SetWord | AddWords | SetQuantity | AddLine | DropLine


class Proposal(NamedTuple):
    """A fix: ``says`` is an imperative with target and place; the changes together do it."""

    says: str
    changes: tuple[Change, ...]


def swap(one: str, other: str) -> Proposal:
    """The wires at two terminals exchanged."""
    return Proposal(f"swap the wires at {one} and {other}", (SwapEnds(one, other),))


def resized(wire: str, size: Size | None) -> tuple[Proposal, ...]:
    """A wire of another size, where one is known."""
    return (Proposal(f"use {size.text} for wire {wire}", (Resize(sizes=((wire, size),)),)),) if size is not None else ()
