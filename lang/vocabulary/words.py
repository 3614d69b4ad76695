"""The words that decide, as data: what may stand where, in which unit, with how many terminals.

One home for the table of the language. Reading, messages, the reference page, completion and the formatter's order of
traits are all made from it; a word that is not here decides nothing, and where a word must decide, is an error.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, Final, NamedTuple

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
"""On a part's line it stands before a place, on an element's and a coil's before the voltage that it is made for."""

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
"""Stands before a state, and before a control and the position of it that ``always`` is meant for."""

KEY_OUT: Final = ("off", "lock", "park")
"""The positions in which a key is out."""

LANGUAGES: Final = ("1",)
SYSTEM_VOLTS: Final = (6.0, 12.0, 24.0)
GROUNDED: Final = ("negative", "positive")
WIRE_CLASSES: Final = {
    "A": 85.0, "B": 100.0, "C": 125.0, "D": 150.0, "E": 175.0, "F": 200.0, "G": 225.0, "H": 250.0
}  # fmt: skip
"""ISO 6722 insulation classes and the temperature in degC that each stands."""

DEFAULT_WIRE_CLASS: Final = "A"
DEFAULT_AMBIENT: Final = 40.0
"""degC along a route that names no ambient."""


# --- what a line may say ---------------------------------------------------------------------------------------------
_NOTHING: Final[Mapping[str, Any]] = MappingProxyType({})


class Words(NamedTuple):
    """What may stand on one line besides its name and its terminals.

    ``ratings`` maps a dimension to the fact that a bare quantity states; ``keyed`` a word to the fact that the quantity
    after it states and that quantity's dimension; ``flags`` a word to the fact and the value that it states;
    ``choices`` a word to the fact that the word after it states and the words that it can be; ``named`` a word to the
    fact that the user's own name after it states. A fact whose name is in ``many`` collects every word said of it; all
    others are said once, and of those in ``one_of`` only one. ``upto`` is the fact whose quantity may be a range, with
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
        """The facts in the order in which a line is best written: ratings, words, and what follows a word of its own.

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

    ``name``: no, may or must a name follow the word. ``pairs``: terminals stand in pairs parted by commas; ``rows``: in
    rows parted by commas. ``when``: a condition may follow the terminal. ``only``: the sorts of the part in which it
    may stand.
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
    """A line of a block without a colon: a quantity of ``dimension``, or a name where ``dimension`` is empty."""

    fact: str
    dimension: str = ""
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


def _flags(fact: str, *words: str) -> dict[str, tuple[str, Any]]:
    return {word: (fact, word) for word in words}


def _yes(*words: str) -> dict[str, tuple[str, Any]]:
    return {word: (word, True) for word in words}


# --- consumers -------------------------------------------------------------------------------------------------------
WHATS: Final = {
    "lamp": "a filament lamp",
    "led": "a lamp of light-emitting diodes",
    "motor": "a motor",
    "horn": "a horn",
    "solenoid": "a solenoid or a valve",
    "pump": "a pump",
    "heater": "a heater",
    "electronics": "electronics that take what they take",
    "ignition": "what makes the spark",
}
ROLES: Final = {
    "dip-beam": "dipped beam of the headlamp",
    "main-beam": "main beam of the headlamp",
    "position-lamp": "front position lamp",
    "tail-lamp": "rear position lamp",
    "stop-lamp": "stop lamp",
    "turn-left": "a turn lamp of the left side",
    "turn-right": "a turn lamp of the right side",
    "plate-lamp": "lamp of the registration plate",
    "tell-tale": "shows the rider a state; it may work through other loads",
}
SYSTEMS: Final = (
    "charging",
    "ignition",
    "starting",
    "lighting",
    "signals",
    "sensing",
    "instruments",
    "controls",
    "supply",
)

CONSUMER: Final = Words(
    ratings={"power": "watts", "current": "amps", "resistance": "ohms"},
    keyed={"duty": ("duty", "share"), "needs": ("needs", "voltage")},
    flags={**_flags("what", *WHATS), **_flags("roles", *ROLES)},
    many=("roles",),
    one_of=("watts", "amps", "ohms"),
)
_RATED_AT: Final[Mapping[str, tuple[str, str]]] = MappingProxyType({AT: ("rated_volts", "voltage")})

ELEMENT: Final = CONSUMER._replace(keyed={**_RATED_AT, **CONSUMER.keyed})
"""The words of an element's own line: those of a load's, and the voltage that it is rated for."""

_ELEMENT: Final = Line(
    fact="elements",
    least=2,
    most=2,
    once=False,
    words=ELEMENT,
    says="a consumer: W, A or ohm, what it is, what it is for, `at` V where it is made for another voltage than the "
    "system's, `duty`, `needs` V; then its + and its other terminal",
)
_STOP_LEAD: Final = Line(
    fact="stop_lead", least=2, most=2, says="the engine stops while the lead (first) is joined to the part's own return"
)


def _pairs(fact: str, says: str) -> Line:
    return Line(fact=fact, least=0, most=None, pairs=True, says=says)


_OUTPUT: Final = Line(
    fact="output",
    least=2,
    most=2,
    only=("alternator", "dynamo"),
    words=Words(ratings={"power": "watts"}),
    says="where it gives current: + and -, and W at running speed",
)
_MACHINE: Final = ("alternator", "dynamo")
_GIVES: Final = {
    "regulated": Property(fact="regulated", dimension="voltage", only=_MACHINE, says="V that it is held at"),
    "idle": Property(fact="idle", dimension="power", only=_MACHINE, says="W that it gives at idling speed"),
    "cranking": Property(
        fact="cranking",
        dimension="power",
        only=_MACHINE,
        says="W that it gives while cranked or kicked; none if left out",
    ),
}
_REGULATED: Final = Property(fact="regulated", dimension="voltage", says="V that it holds")

KINDS: Final[dict[str, Kind]] = {
    "source": Kind(
        says="a battery, an alternator or a dynamo",
        words=Words(flags={**_flags("what", "battery", "alternator", "dynamo"), **_yes("lithium")}),
        sort="what",
        lines={
            "output": _OUTPUT,
            "field": Line(
                fact="field_winding",
                least=2,
                most=2,
                only=_MACHINE,
                words=Words(ratings={"resistance": "ohms"}),
                says="its field winding, + and -: must be fed before it charges",
            ),
            "phases": Line(
                fact="phases", least=2, most=3, only=_MACHINE, says="its stator, where the rectifier is elsewhere"
            ),
            "winding": Line(
                fact="windings",
                least=2,
                most=3,
                name="must",
                once=False,
                only=_MACHINE,
                words=Words(ratings={"power": "watts"}, flags=_yes("floating")),
                says="a stator winding that gives alternating current; `floating`: it may touch no ground",
            ),
        },
        properties={
            "voltage": Property(fact="volts", dimension="voltage", only=("battery",), says="V at rest, charged"),
            "capacity": Property(fact="amp_hours", dimension="charge", only=("battery",), says="Ah"),
            "resistance": Property(fact="ohms", dimension="resistance", only=("battery",), says="ohm inside it"),
            **_GIVES,
        },
    ),
    "rectifier": Kind(
        says="diodes elsewhere than in the alternator, with a regulator or without",
        words=Words(ratings={"current": "amps"}, flags=_yes("shunt")),
        lines={
            "phases": Line(fact="phases", least=2, most=3, says="where the stator's phases go"),
            "output": Line(
                fact="output", least=2, most=2, words=_OUTPUT.words, says="where it gives current: + and -, and W"
            ),
            "trio": Line(fact="trio", least=1, most=1, says="the small diodes that feed a field"),
        },
        properties={
            name: Property(fact=prop.fact, dimension=prop.dimension, says=prop.says) for name, prop in _GIVES.items()
        },
    ),
    "regulator": Kind(
        says="what holds a machine's volts",
        words=Words(ratings={"current": "amps"}),
        lines={
            "passes": Line(fact="passes", least=2, most=2, says="what feeds the field through it: in, then out"),
            "sense": Line(fact="sense", least=2, most=2, says="between which it holds its volts: + and -"),
            "cut-out": Line(
                fact="cut_out",
                least=2,
                most=2,
                words=Words(ratings={"voltage": "cut_out_volts"}),
                says="joins one way, machine to battery, from so many V",
            ),
            "shunts": Line(
                fact="shunts",
                least=2,
                most=2,
                words=Words(ratings={"voltage": "shunt_volts"}),
                says="limits an alternating winding to so many V",
            ),
        },
        properties={"regulated": _REGULATED},
    ),
    "capacitor": Kind(
        says="a capacitor", terminals=("+", "-"), words=Words(ratings={"capacitance": "farads", "voltage": "volts"})
    ),
    "diode": Kind(
        says="a diode, from anode `A` to cathode `K`", terminals=("A", "K"), words=Words(ratings={"current": "amps"})
    ),
    "resistor": Kind(
        says="a resistor", terminals=("1", "2"), words=Words(ratings={"resistance": "ohms", "power": "watts"})
    ),
    "meter": Kind(
        says="an ammeter: joined, nearly no resistance", terminals=("1", "2"), words=Words(ratings={"current": "amps"})
    ),
    "fuse": Kind(
        says="a fuse, a fusible link or a breaker, by its continuous rating",
        terminals=("1", "2"),
        words=Words(
            ratings={"current": "amps"},
            keyed={"blows": ("blows", "current")},
            flags={**_flags("form", "blade", "strip", "glass", "torpedo", "link", "breaker"), **_yes("sealed")},
        ),
    ),
    "switch": Kind(
        says="contacts that a hand, a foot or a sensed quantity moves",
        words=Words(ratings={"current": "amps"}, flags=_yes("key", "momentary")),
        marks=("senses",),
        free=Line(
            fact="positions",
            least=0,
            most=None,
            pairs=True,
            once=False,
            words=Words(flags={STOP: ("stops", True)}),
            says="a position: the pairs of terminals that are joined in it; `stop` after its name: a stop control too",
        ),
        properties={"rests": Property(fact="rests", says="the position at rest, where it is not the first")},
    ),
    "relay": Kind(
        says="contacts that a coil moves",
        words=Words(
            ratings={"current": "amps"},
            flags=_yes("clamped", "sealed"),
            choices={"clamp": ("clamp", ("diode", "resistor"))},
        ),
        lines={
            "coil": Line(
                fact="coil",
                least=2,
                most=2,
                words=Words(
                    ratings={"resistance": "ohms", "power": "watts", "current": "amps"},
                    keyed=_RATED_AT,
                    one_of=("ohms", "watts", "amps"),
                ),
                says="its coil, by ohm, W or A; `at` V where it is made for another voltage than the system's",
            ),
            "released": _pairs("released", "the pairs joined while the coil is not fed"),
            "pulled": _pairs("pulled", "the pairs joined while the coil is fed"),
        },
        properties={
            "pulls": Property(fact="pulls", dimension="voltage", says="V at which it pulls in"),
            "holds": Property(fact="holds", dimension="voltage", says="V below which it lets go"),
        },
    ),
    "flasher": Kind(
        says="what makes turn lamps flash",
        words=Words(ratings={"power": "watts"}, flags=_flags("how", "thermal", "electronic"), upto="watts"),
        lines={
            "flash": Line(fact="flash", least=2, most=2, says="its feed and its flashing output"),
            "pilot": Line(fact="pilot", least=1, most=1, says="output for the tell-tale"),
            "supply": Line(fact="supply", least=2, most=2, says="what it lives on: + and -"),
        },
    ),
    "load": Kind(says="what uses current", words=CONSUMER, lines={"stop-lead": _STOP_LEAD}, free=_ELEMENT),
    "sensor": Kind(
        says="a sensor that a unit or an instrument reads",
        lines={
            "signal": Line(
                fact="signal", least=2, most=2, words=Words(ratings={"resistance": "ohms"}), says="its two terminals"
            )
        },
    ),
    "unit": Kind(
        says="a solid-state control unit: inputs, outputs and logic",
        lines={
            "supply": Line(
                fact="supplies",
                least=2,
                most=2,
                name="may",
                once=False,
                words=Words(ratings={"current": "amps"}, keyed={"asleep": ("asleep", "current")}),
                says="what it lives on, + and -, with what it takes awake and asleep; a second one has a name",
            ),
            "input": Line(
                fact="inputs",
                least=1,
                most=2,
                name="must",
                once=False,
                words=Words(flags=_flags("mode", "grounded", "fed", "signal")),
                says="active where grounded, where fed, or a `signal` with its own return",
            ),
            "output": Line(
                fact="outputs",
                least=1,
                most=1,
                name="must",
                once=False,
                when=True,
                words=Words(
                    ratings={"current": "amps", "voltage": "volts"},
                    keyed={
                        "trips": ("trips", "current"),
                        "after": ("after", "time"),
                        "holds": ("holds", "time"),
                        "pulsing": ("pulsing", "share"),
                    },
                    flags=_yes("flashing", "grounded", "clamped"),
                    keyed_first=True,
                ),
                says="on while its condition holds; `trips`: protects its wire; `after` s: comes on so much later; "
                "`holds` s: stays on so much longer; `pulsing` %: on for this share of the time; V: a reference "
                "voltage of its own; `from` a second supply",
            ),
            "common": Line(fact="commons", least=1, most=1, once=False, says="a return of its own, for its sensors"),
            "stop-lead": _STOP_LEAD,
            "latch": Line(
                fact="latches",
                name="must",
                once=False,
                says="remembers: `latch NAME: set when CONDITION, cleared when CONDITION`; "
                "with `toggled` in place of `set` each press changes it",
            ),
        },
    ),
    "connector": Kind(
        says="a plug and its socket; way 3 has a socket half `3s` and a pin half `3p`",
        words=Words(ratings={"count": "ways", "current": "amps"}, flags=_yes("sealed")),
        lines={
            "spare": Line(fact="spare", least=1, most=None, says="ways that are meant to be empty"),
            "face": Line(
                fact="face",
                least=1,
                most=None,
                rows=True,
                says="its ways as seen from the mating side of the socket half: rows from the top down, with commas "
                "between; `-` where a row has a gap",
            ),
        },
    ),
    "splice": Kind(says="wires joined for good", words=Words(flags=_yes("sealed"))),
    "ground": Kind(says="a body of metal that is used as a return, with a stud at each of its places"),
}
"""The kinds of part. ``source`` has the terminals ``+ -`` where it is a battery; ``connector`` its ways."""

GAP: Final = "-"
"""Stands in a row of a face where there is no way."""

BATTERY_TERMINALS: Final = ("+", "-")
ONE_NODE: Final = ("splice", "ground")
"""Kinds whose one node is the part's own name: a wire ends at them without a terminal."""

ALWAYS: Final = "always"
PART_FLAGS: Final = _yes("kept", ALWAYS)
"""Words that every part may have, besides ``at``, ``for``, ``as``, ``was`` and a label."""

PART_KEYED: Final[Mapping[str, tuple[str, str]]] = MappingProxyType({"leg": ("leg", "length")})
"""Words that every part may have with a quantity after them."""

PART_TRAITS: Final = ("senses", "at", "leg", "for", "as", "kept", "was", "always", "label")
"""What may follow the words of a part's own kind, in the order in which it is best written."""

WIRE_WORDS: Final = Words(
    ratings={"area": "size", "length": "length"},
    choices={"class": ("wire_class", tuple(WIRE_CLASSES))},
    flags={**_yes("solid", "kept"), "site-cut": ("site_cut", True)},
    named={"past": "past"},
    many=("past",),
    colour=True,
)
WIRE_TRAITS: Final = (
    "via", "past", "colour", "size", "length", "wire_class", "solid", "for", "kept", "site_cut", "was", "label"
)  # fmt: skip
"""What may follow the ends of a wire, in the order in which it is best written."""

COVERS: Final = {
    "braid": "a braided sleeve around this stretch",
    "tape": "this stretch is taped",
    "tube": "a tube around this stretch",
    "loose": "no cover around this stretch: its wires are tied",
}
ROUTE_WORDS: Final = Words(
    ratings={"length": "length"},
    keyed={"ambient": ("ambient", "temperature"), "slack": ("slack", "share")},
    flags={**_yes("flexing"), **_flags("cover", *COVERS)},
)
WIRES_WORDS: Final = Words(choices={"class": ("wire_class", tuple(WIRE_CLASSES))}, keyed={"slack": ("slack", "share")})
"""What `wires` says of every wire that does not say its own."""

# --- what the bench needs --------------------------------------------------------------------------------------------
OFFERED: Final = {
    "stud": "a stud that takes a ring: `stud M8`",
    "tab": "a flat tab that takes a push-on receptacle, by its width: `tab 6.3 mm`",
    "bullet": "a round socket or pin, by its diameter: `bullet 3.9 mm`",
    "pin": "a pin in a housing, by its width or diameter: `pin 1.5 mm`",
    "screw": "a screw that clamps: `screw M4` takes a ring, `screw` alone the bare strands",
    "bare": "strands without a crimp, as a solder joint or a lead that comes out of a part has",
}
"""What a terminal offers a wire."""

THREADS: Final = (3, 4, 5, 6, 8, 10, 12)
"""Coarse threads of the first choice by ISO 262 that electrical studs have, in mm (from memory, confidence high)."""

ENDS_WORDS: Final = Words(
    ratings={"length": "size"},
    flags={**_flags("what", *OFFERED), **{f"M{size}": ("thread", size) for size in THREADS}},
)
HOUSING_WORDS: Final = Words(ratings={"count": "ways"}, flags=_yes("sealed"))
SPARE_WIRE_WORDS: Final = Words(
    ratings={"area": "size"}, choices={"class": ("wire_class", tuple(WIRE_CLASSES))}, colour=True
)
SPARE_WIRE_TRAITS: Final = ("colour", "size", "wire_class")
THROUGH: Final = ("bearings", "paint", "rubber", "hinge")
"""Joints in a mounting that nobody should rely on."""


# --- what a shop states for all its harnesses ------------------------------------------------------------------------
class HouseFact(NamedTuple):
    """What may follow `house` and its word. ``needs`` are facts of which one must be said; ``function``: after `for`.

    ``named``: a name, or the name of a file as a text, and nothing else. ``once``: one line of it a harness.
    """

    says: str
    words: Words = Words()
    needs: tuple[str, ...] = ()
    function: bool = False
    named: bool = False
    once: bool = True


HOUSE: Final[dict[str, HouseFact]] = {
    "profile": HouseFact(says='whose limits: `house profile NAME`, or `house profile "FILE.toml"`', named=True),
    "smallest": HouseFact(
        says="no conductor is thinner: `house smallest 0.75 mm2`",
        words=Words(ratings={"area": "size"}),
        needs=("size",),
    ),
    "drop": HouseFact(
        says="share of the battery's volts that may be lost on the way to a load and back: `house drop 5 %`",
        words=Words(ratings={"share": "share"}),
        needs=("share",),
    ),
    "colour": HouseFact(
        says="`house colour brown for ground`: the base colour of wires of a function; with a stripe, just that one",
        words=Words(colour=True),
        needs=("colour",),
        function=True,
        once=False,
    ),
    "connector": HouseFact(
        says="a family of connectors that it keeps: `house connector 10 A sealed`",
        words=Words(ratings={"count": "ways", "current": "amps"}, flags=_yes("sealed")),
        needs=("ways", "amps"),
        once=False,
    ),
}
"""The words after `house`."""

GROUND_FUNCTION: Final = "ground"
FUNCTIONS: Final = (GROUND_FUNCTION, *ROLES, *SYSTEMS)
"""What a wire can be for, as far as its colour goes: the way back, what an element is for, or a system."""

JUDGEMENTS: Final = ("error", "warning", "note", "off")
"""What `judge` can make of a rule's findings."""

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

# --- colours ---------------------------------------------------------------------------------------------------------
IEC_60757: Final = {
    "BK": "black",
    "BN": "brown",
    "RD": "red",
    "OG": "orange",
    "YE": "yellow",
    "GN": "green",
    "BU": "blue",
    "VT": "violet",
    "GY": "grey",
    "WH": "white",
    "PK": "pink",
    "TQ": "turquoise",
}
"""Letter codes of IEC 60757 for the colours of the language (from memory, confidence high)."""

BASE_COLOURS: Final = tuple(IEC_60757.values())
COLOURS: Final = frozenset(shade + colour for colour in BASE_COLOURS for shade in ("", "light-", "dark-"))

ALSO_COLOURS: Final = {
    "gray": "grey",
    "light-gray": "light-grey",
    "dark-gray": "dark-grey",
    "slate": "grey",
    "purple": "violet",
    "light-purple": "light-violet",
    "dark-purple": "dark-violet",
    "tan": "light-brown",
    "beige": "light-brown",
    "sky-blue": "light-blue",
    "natural": "white",
    "clear": "white",
}
"""What old diagrams print -> the first form of that colour (common practice, no source). Read, as letter codes are."""

OTHER_COLOURS: Final = {"lilac": "light-violet", "amber": "orange", "cyan": "turquoise"}
"""What some call a colour -> what the language calls it (common practice, no source): for messages only."""


# --- statements ------------------------------------------------------------------------------------------------------
class Form(NamedTuple):
    """A statement: the grammar's rule for its line, how it is written, and whether a block may follow.

    ``reserves``: its first word names no part. A statement that came after the first texts reserves nothing: parts may
    have its name.
    """

    rule: str
    written: str
    block: str = ""
    reserves: bool = True


STATEMENTS: Final[dict[str, Form]] = {
    "loom": Form("titled", 'loom "TITLE"'),
    "language": Form("plain", "language 1"),
    "system": Form("plain", "system VOLTS negative|positive ground"),
    "wires": Form("plain", "wires class A|B|C|D [slack N %]"),
    "use": Form("use", 'use NAME, or use "FILE.loom"'),
    "place": Form("place", "place NAME, NAME …, or place NAME wet"),
    "route": Form(
        "route", "route PLACE PLACE LENGTH [flexing] [braid|tape|tube|loose] [ambient TEMPERATURE] [slack N %]"
    ),
    **{
        kind: Form(
            "part", f"{kind} NAME traits" + (" { lines }" if spec.has_block else ""), "line" if spec.has_block else ""
        )
        for kind, spec in KINDS.items()
    },
    "pattern": Form("pattern", "pattern KIND NAME traits { lines }", "line"),
    "wire": Form("wire", "wire NAME END to END traits"),
    "twisted": Form("bundle", "twisted WIRE, WIRE …", reserves=False),
    "shielded": Form("bundle", "shielded WIRE, …", reserves=False),
    "together": Form("together", "together WIRE WIRE … at PART.TERMINAL", reserves=False),
    "spare-wire": Form("spare_wire", "spare-wire NAME from PLACE to PLACE colour size", reserves=False),
    "ends": Form("ends", "ends PART, … stud|tab|bullet|pin|screw|bare [SIZE] [: TERMINAL TERMINAL …]", reserves=False),
    "housing": Form("housing", "housing PART N ways [sealed]", reserves=False),
    "mount": Form("mount", "mount PART.TERMINAL|GROUND to GROUND [through bearings|paint|rubber|hinge]"),
    "capped": Form("capped", "capped PART.TERMINAL"),
    "state": Form("state", "state NAME { CONTROL POSITION, … }", "settings"),
    "expect": Form(
        "expect",
        "expect in STATE|whenever CONDITION [without NAME, …]: PART.ELEMENT live|dead|at least N V|at most N V, …",
    ),
    "waive": Form("waive", 'waive RULE for NAME, … [in STATE] because "REASON" [until YYYY-MM-DD]'),
    "house": Form("house", "house WORD …"),
    "judge": Form("judge", 'judge RULE error|warning|note|off because "REASON"'),
    "converts": Form("titled", 'converts "FILE.loom"'),
    "removed": Form("removed", "removed NAME, …"),
    "changes": Form("declared", 'changes NAME, … because "REASON"'),
    "loses": Form("declared", 'loses NAME, … because "REASON"'),
}
"""The first words of statements."""

BUNDLES: Final = ("twisted", "shielded")
"""Statements that tell what some wires run in."""

SAID_WORDS: Final[Mapping[str, Words]] = MappingProxyType(
    {"wire": WIRE_WORDS, "route": ROUTE_WORDS, "wires": WIRES_WORDS, "ends": ENDS_WORDS, "housing": HOUSING_WORDS,
     "spare-wire": SPARE_WIRE_WORDS}
)  # fmt: skip
"""First word -> the words that its line may have, for statements that describe no part."""

RESERVED: Final = frozenset(word for word, form in STATEMENTS.items() if form.reserves)
"""Those of them that name no part."""

MEANINGS: Final[dict[str, str]] = {
    **{name: kind.says for name, kind in KINDS.items()},
    **WHATS,
    **ROLES,
    # what a source, a fuse, a switch or a flasher is
    "battery": "a battery, its terminals `+` and `-`",
    "alternator": "a machine that gives current while the engine turns, and may have to be fed before it does",
    "dynamo": "a machine that gives current while the engine turns, and needs no feed to start",
    "lithium": "a battery of lithium cells",
    "shunt": "joins the phases to limit the volts, and not by opening them",
    "blade": "a blade fuse",
    "strip": "a strip fuse, bolted down",
    "glass": "a glass tube fuse",
    "torpedo": "a ceramic torpedo fuse",
    "link": "a fusible link",
    "breaker": "a circuit breaker",
    "blows": "the A that an old fuse is marked with: those that blow it",
    "key": "the ignition switch",
    "momentary": "goes back to rest when it is let go",
    "senses": "what moves a switch that no thumb moves, and names its positions",
    "clamped": "something inside takes up the kick of a coil",
    "clamp": "what takes up the kick of the coil: a `diode` (the coil's + is then its first terminal) or a `resistor`",
    "thermal": "a flasher that works by heat, and so by the load on it",
    "electronic": "a flasher whose rate no load changes",
    "sealed": "water stays out: a sealed plug or holder, a splice under heat-shrink with adhesive",
    # consumers
    "duty": "the share of time in which it takes its current",
    "needs": "V from which it works, where that is not the usual share",
    # units and machines
    "floating": "this winding may touch no ground",
    "asleep": "A that it takes with nothing on",
    "grounded": "active where it is joined to the unit's own ground; an output grounds its terminal",
    "fed": "active where it is joined to a feed",
    "signal": "a sensor's signal",
    "flashing": "goes on and off by itself",
    "trips": "A at which it opens by itself: it protects its wire like a fuse of that rating",
    "holds": "stays so long after its condition has gone; V below which a relay lets go",
    "after": "comes on so long after its condition",
    "pulsing": "on for this share of the time: its peak counts for wires, its mean for the charge balance",
    "toggled": "when a latch changes: each press sets or clears it",
    "set": "when a latch is set",
    "cleared": "when a latch is cleared",
    "when": "the condition, from inputs and latches of the unit",
    "from": "the supply that an output is fed from",
    # every part
    "at": "the place where it is; those of its studs for a ground; on an element's or a coil's line the voltage that "
    "it is made for",
    "for": "the system that it belongs to",
    "as": "the pattern whose lines it has besides its own",
    "kept": "the old one itself, in a harness that converts another",
    "was": "what the old harness calls it",
    "always": "may be live with the key out; `always in KEY park`: in that position only",
    "stop": "a position that stops the engine",
    "twisted": "wires twisted with each other, so that less is picked up from beside them",
    "shielded": "wires inside one screen",
    # wires and routes
    "to": "the other end",
    "via": "runs through this way of a connector unchanged, and is cut there",
    "class": "ISO 6722 insulation: A 85, B 100, C 125, D 150 degC",
    "solid": "one thick strand, which breaks where it moves",
    "wet": "water reaches this place",
    "flexing": "moves, as with the steering",
    "past": "runs by this place on its way",
    "site-cut": "cut to length on the motorcycle: the cut list adds what that takes",
    "slack": "the share by which a wire is longer than its way",
    "leg": "from the branch of the loom at the part's place to its terminals",
    "face": "the ways of a connector as they are seen",
    "ends": "what a part offers a wire: from that the crimps follow",
    "housing": "a part that plugs in by itself: the loom has a housing for it",
    "together": "wires that share one crimp",
    "spare-wire": "a wire that is laid in and connected to nothing yet",
    **COVERS,
    **OFFERED,
    "ambient": "the hottest that it gets along this stretch",
    "through": "a joint that nobody should rely on",
    **dict.fromkeys(THROUGH, "a joint that nobody should rely on"),
    "negative": "the - of the battery is at the frame",
    "positive": "the + of the battery is at the frame",
    # states, expectations, waivers
    "in": "in a named state",
    "whenever": "in every position of everything else, while this condition holds",
    "without": "with these parts or wires taken out",
    "and": "both",
    "or": "one of them, or both",
    "not": "in any other position",
    "live": "it gets enough to work",
    "dead": "it gets too little to matter",
    "least": "no less than this",
    "most": "no more than this",
    "because": "the reason, for the next reader",
    "until": "the last day on which this counts",
    "engine": "a control that is no part: off, cranking, idling or running",
}
"""What each word means to a rider, where neither its line nor its property in ``KINDS`` says so."""
