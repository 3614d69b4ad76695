"""Wires, their ends and what they run along. SI units."""

from __future__ import annotations

from typing import Literal

from ..diagnostics.diagnostic import Span
from ..quantities.size import Size
from ..records import dataclass
from ..vocabulary.colours import Colour


@dataclass(frozen=True, slots=True)
class Route:
    """A stretch of the harness between two places. ``length`` in m; ``ambient`` in degC, ``None`` where left out.

    ``slack`` is the share of 1 by which its wires are longer, ``None`` where that of all wires holds.
    """

    a: str
    b: str
    length: float
    span: Span
    flexing: bool = False
    ambient: float | None = None
    cover: Literal["braid", "tape", "tube", "loose"] | None = None
    slack: float | None = None


# --- wires -----------------------------------------------------------------------------------------------------------
class End(str):
    """Where a conductor ends. ``terminal`` is empty for a splice or a ground, ``3s``/``3p`` for half a way.

    A ``str`` too, equal to what the text has for it (``KEY.30``): whoever holds one asks it for its part and terminal.
    """

    __slots__ = ("part", "terminal")
    part: str
    terminal: str

    def __new__(cls, part: str, terminal: str = "") -> End:
        made = super().__new__(cls, f"{part}.{terminal}" if terminal else part)
        made.part, made.terminal = part, terminal
        return made

    def __getnewargs_ex__(self) -> tuple[tuple[str, str], dict[str, str]]:
        """For ``copy``, which would make it of its text alone."""
        return (self.part, self.terminal), {}

    @property
    def node(self) -> End:
        return self

    @property
    def half(self) -> str:
        """``s`` for the socket half of a connector's way, ``p`` for the pin half; to be asked of such a half alone."""
        return self.terminal[-1:]

    @property
    def way(self) -> End:
        """The way that it is half of; to be asked of such a half alone."""
        return End(self.part, self.terminal[:-1])

    @property
    def mate(self) -> End:
        """The other half of the way that it is half of; to be asked of such a half alone."""
        return End(self.part, self.terminal[:-1] + ("p" if self.half == "s" else "s"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Segment:
    """A stretch of wire between two ends: a whole wire, or what lies between two ways of one that runs ``via`` some.

    ``number`` counts the pieces of one wire from 1; it is 0 where the wire is one piece.
    ``length`` in m, ``None`` where neither written nor computable; ``written`` tells which. ``route`` names the places
    it passes, in order; ``ambient`` is the hottest on them (40 degC where none is given). ``wire_class`` is the ISO
    6722 letter that holds for it. ``studs`` gives for each end the place at which it is (for a ground, the stud's).
    """

    wire: str
    a: End
    b: End
    span: Span
    number: int = 0
    colour: Colour | None = None
    size: Size | None = None
    length: float | None = None
    written: bool = False
    route: tuple[str, ...] = ()
    ambient: float = 40.0
    flexing: bool = False
    wire_class: str = "A"
    solid: bool = False
    studs: tuple[str | None, str | None] = (None, None)

    @property
    def name(self) -> str:
        """The wire's, with the number of the piece where it has several: no other piece has it."""
        return f"{self.wire}.{self.number}" if self.number else self.wire


@dataclass(frozen=True, slots=True, kw_only=True)
class Wire:
    """A wire as the text has it. ``segments`` holds one, or one more than the ways it runs through.

    ``past`` are places that it is led by; ``site_cut``: its last length is found on the motorcycle.
    """

    name: str
    a: End
    b: End
    span: Span
    segments: tuple[Segment, ...]
    via: tuple[End, ...] = ()
    past: tuple[str, ...] = ()
    colour: Colour | None = None
    size: Size | None = None
    length: float | None = None
    wire_class: str | None = None
    solid: bool = False
    kept: bool = False
    site_cut: bool = False
    was: str | None = None
    system: str | None = None
    label: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Bundle:
    """Wires that are ``twisted`` with each other, or ``shielded`` by one screen: they pick up less from beside them."""

    how: Literal["twisted", "shielded"]
    wires: tuple[str, ...]
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Capped:
    """An end that is meant to lie dead, insulated."""

    end: End
    span: Span
