"""The words that decide: those of every line, and the forms in which tables say what may be where.

This folder is the one home of the language's words: the kinds of part, wires and routes, what a shop states, statements
and colours are above this module, each in its own. Reading, messages, the reference page, completion and the
formatter's order of traits are all made from them; a word that is not here decides nothing, and where a word must
decide, is an error.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, Final

from ..named_tuples import NamedTuple

# --- lines and names -------------------------------------------------------------------------------------------------
KEPT_WORDS: Final = (
    "at",
    "for",
    "as",
    "to",
    "from",
    "via",
    "through",
    "senses",
    "was",
    "with",
    "without",
    "when",
    "whenever",
    "and",
    "or",
    "not",
    "because",
    "until",
)
"""Never names."""

AT: Final = "at"
"""On a part's line it comes before a place, on an element's and a coil's before the voltage that it is made for."""

ENGINE: Final = "engine"
"""The control that is no part; its positions are ``model.ENGINE_POSITIONS``."""

LATCH_POSITIONS: Final = ("cleared", "set")
"""Positions of a unit's latch as a control, the one at rest first."""

SIGNAL_POSITIONS: Final = ("idle", "active")
"""Positions of a unit's `signal` input as a control, the one at rest first."""

TOGGLED: Final[str] = "toggled"
LATCH_LINES: Final[tuple[tuple[str, str], ...]] = (("set", "cleared"), (TOGGLED, "cleared"))
"""What a latch's line says after its colon, in this order, each with its condition."""

STOP: Final = "stop"
"""The position of a stop control, and the word after the name of a further one. A switch for ignition that is no key
and senses nothing must have one."""

IN: Final = "in"
"""Comes before a state, and before a control and the position of it that ``always`` is meant for."""

KEY_OUT: Final = ("off", "lock", "park")
"""The positions in which a key is out."""

LANGUAGES: Final = ("1",)
SYSTEM_VOLTS: Final = (6.0, 12.0, 24.0)
GROUNDED: Final = ("negative", "positive")
WIRE_CLASSES: Final = {
    "A": 85.0, "B": 100.0, "C": 125.0, "D": 150.0, "E": 175.0, "F": 200.0, "G": 225.0, "H": 250.0
}  # fmt: skip
"""ISO 6722 insulation classes and the temperature in degC that each withstands."""

DEFAULT_WIRE_CLASS: Final = "A"
DEFAULT_AMBIENT: Final = 40.0
"""degC along a route that names no ambient."""


# --- what a line may say ---------------------------------------------------------------------------------------------
_NOTHING: Final[Mapping[str, Any]] = MappingProxyType({})


class Words(NamedTuple):
    """What may be on one line besides its name and its terminals.

    ``ratings`` maps a dimension to the fact that a bare quantity states; ``keyed`` a word to the fact that the quantity
    after it states and that quantity's dimension; ``flags`` a word to the fact and the value that it states;
    ``choices`` a word to the fact that the word after it states and the words that it can be; ``named`` a word to the
    fact that the user's own name after it states. A fact whose name is in ``many`` collects every word said of it; all
    others come once, and of those in ``one_of`` only one. ``upto`` is the fact whose quantity may be a range, with
    ``to`` between. After a flag in ``within`` may stand ``in``, a control and its position: it is then meant for that
    position alone.
    """

    ratings: Mapping[str, str] = _NOTHING
    keyed: Mapping[str, tuple[str, str]] = _NOTHING
    flags: Mapping[str, tuple[str, Any]] = _NOTHING
    choices: Mapping[str, tuple[str, tuple[str, ...]]] = _NOTHING
    named: Mapping[str, str] = _NOTHING
    many: tuple[str, ...] = ()
    one_of: tuple[str, ...] = ()
    upto: str = ""
    within: tuple[str, ...] = ()
    colour: bool = False
    keyed_first: bool = False

    @property
    def order(self) -> tuple[str, ...]:
        """The facts in the order in which a line is best written: ratings, words, and what follows a separate word.

        ``keyed_first`` turns the last two: a unit's output says what it trips at beside what it gives. A rated voltage
        is written beside the rating: ``21 W at 6 V``.
        """
        said = tuple(fact for fact, _ in self.flags.values())
        beside = tuple(fact for word, (fact, _) in self.keyed.items() if word == AT)
        keyed = tuple(fact for fact, _ in self.keyed.values())
        chosen = tuple(fact for fact, _ in self.choices.values())
        rest = (*keyed, *said) if self.keyed_first else (*said, *keyed)
        return tuple(dict.fromkeys((*self.ratings.values(), *beside, *rest, *chosen, *self.named.values())))

    def spoken(self) -> tuple[str, ...]:
        """Every word of these lines, but not the units and the colours."""
        return (*self.flags, *self.keyed, *self.choices, *self.named)


class Line(NamedTuple):
    """A line of a block. ``least`` and ``most`` terminals follow its colon (``most`` ``None``: any number).

    ``name``: no, may or must a name follow the word. ``pairs``: terminals are in pairs parted by commas; ``rows``: in
    rows parted by commas. ``when``: a condition may follow the terminal. ``only``: the sorts of the part in which it
    may be.
    """

    fact: str
    least: int = 0
    most: int | None = 0
    name: str = "no"
    pairs: bool = False
    rows: bool = False
    when: bool = False
    once: bool = True
    only: tuple[str, ...] = ()
    words: Words = Words()
    says: str = ""


class Property(NamedTuple):
    """A line of a block without a colon: a quantity of ``dimension``, or a name where ``dimension`` is empty. ``then``
    is the fact of a second quantity behind the first, of the same dimension.
    """

    fact: str
    dimension: str = ""
    then: str = ""
    only: tuple[str, ...] = ()
    says: str = ""


class Kind(NamedTuple):
    """A kind of part: its fixed terminals, the words on its line, and the lines of its block.

    ``free`` describes the lines that begin with a name of the user's own (positions, elements). ``sort`` names the fact
    that must be stated, if any, and is what ``Line.only`` speaks of. ``marks`` are kept words that only
    this kind has.
    """

    says: str
    terminals: tuple[str, ...] = ()
    words: Words = Words()
    lines: Mapping[str, Line] = _NOTHING
    properties: Mapping[str, Property] = _NOTHING
    free: Line | None = None
    sort: str = ""
    marks: tuple[str, ...] = ()

    def lines_of(self, sort: str) -> tuple[str, ...]:
        """The first words of the lines that a part of this sort may have."""
        only = {word: line.only for word, line in self.lines.items()} | {w: p.only for w, p in self.properties.items()}
        return tuple(word for word, sorts in only.items() if not sorts or sort in sorts)

    @property
    def has_block(self) -> bool:
        return bool(self.lines or self.properties or self.free)


def flags(fact: str, *words: str) -> dict[str, tuple[str, Any]]:
    """Words of which one says what a fact is."""
    return {word: (fact, word) for word in words}


def yes(*words: str) -> dict[str, tuple[str, Any]]:
    """Words that are facts by being there."""
    return {word: (word, True) for word in words}


# --- what moves a switch that no thumb moves -------------------------------------------------------------------------
SENSED: Final[dict[str, tuple[str, ...]]] = {
    "gearbox": ("neutral",),
    "clutch": ("out", "in"),
    "stand": ("up", "down"),
    "front-brake": ("rest", "press"),
    "rear-brake": ("rest", "press"),
    "oil-pressure": ("low", "good"),
    "temperature": ("cool", "hot"),
    "tilt": ("upright", "fallen"),
    "crank": (),
}
"""Sensed quantities and their positions. A gearbox has others besides ``neutral``; a crank two or more of any name."""

SENSED_OPEN: Final = ("gearbox", "crank")
"""Quantities that may have positions besides those of ``SENSED``."""
