"""Every kind of part: what its line and its block may say."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final, Literal

from .words import AT, STOP, Kind, Line, Property, Words, flags, yes

What = Literal["lamp", "led", "motor", "horn", "solenoid", "pump", "heater", "electronics", "ignition"]
"""The words for what an element is."""

WHATS: Final = {
    "lamp": "a filament lamp",
    "led": "a lamp of light-emitting diodes",
    "motor": "a motor",
    "horn": "a horn",
    "solenoid": "a solenoid or a valve",
    "pump": "a pump",
    "heater": "a heater",
    "electronics": "electronics, of a current that hardly changes with the voltage",
    "ignition": "an ignition coil or box",
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
    flags={**flags("what", *WHATS), **flags("roles", *ROLES)},
    many=("roles",),
    one_of=("watts", "amps", "ohms"),
)


_RATED_AT: Final[Mapping[str, tuple[str, str]]] = MappingProxyType({AT: ("rated_volts", "voltage")})


ELEMENT: Final = CONSUMER._replace(
    ratings={**CONSUMER.ratings, "inductance": "henries"},
    keyed={**_RATED_AT, "duty": CONSUMER.keyed["duty"], "dwell": ("dwell", "share"), "needs": CONSUMER.keyed["needs"]},
    flags={**CONSUMER.flags, **yes("exciter", "points")},
)
"""The words of an element's own line: those of a load's, its rated voltage, and what a primary or a box has."""


_ELEMENT: Final = Line(
    fact="elements",
    least=2,
    most=2,
    once=False,
    words=ELEMENT,
    says="a consumer: W, A or ohm, what it is, what it is for, `at` V where it is made for another voltage than the "
    "system's, `duty` or (behind points) `dwell`, `needs` V; mH of a primary, `points` where a magneto's has points "
    "inside, `exciter` where it is fed by an exciter winding; then its + and its other terminal",
)


_STOP_LEAD: Final = Line(
    fact="stop_lead",
    least=2,
    most=2,
    words=Words(flags=yes("half")),
    says="the engine stops while the lead (first) is connected to the part's own return; `half`: one half wave, from "
    "the lead to the return, is enough",
)


_MEASURED: Final = Words(
    ratings={"resistance": "ohms"},
    keyed={"open": ("open_volts", "voltage"), "short": ("short_amps", "current")},
    keyed_first=True,
)
"""What is measured of a winding at running speed."""


def _pairs(fact: str, says: str) -> Line:
    return Line(fact=fact, least=0, most=None, pairs=True, says=says)


_OUTPUT: Final = Line(
    fact="output",
    least=2,
    most=2,
    only=("alternator", "dynamo"),
    words=Words(ratings={"power": "watts"}),
    says="its output, + and -, and W at running speed",
)


_MACHINE: Final = ("alternator", "dynamo")


_GIVES: Final = {
    "regulated": Property(fact="regulated", dimension="voltage", only=_MACHINE, says="V at which it is regulated"),
    "idle": Property(fact="idle", dimension="power", only=_MACHINE, says="W at idling speed"),
    "cranking": Property(
        fact="cranking",
        dimension="power",
        only=_MACHINE,
        says="W while cranked or kicked; none if left out",
    ),
}


_REGULATED: Final = Property(fact="regulated", dimension="voltage", says="V at which it regulates")


KINDS: Final[dict[str, Kind]] = {
    "source": Kind(
        says="a battery, an alternator or a dynamo",
        words=Words(flags={**flags("what", "battery", "alternator", "dynamo"), **yes("lithium")}),
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
                fact="phases",
                least=2,
                most=3,
                only=_MACHINE,
                words=_MEASURED,
                says="its stator, where the rectifier is elsewhere; at running speed `open` V and ohm between two "
                "leads, `short` A in each with all shorted together",
            ),
            "winding": Line(
                fact="windings",
                least=2,
                most=3,
                name="must",
                once=False,
                only=_MACHINE,
                words=_MEASURED._replace(
                    ratings={"power": "watts", **_MEASURED.ratings}, flags=yes("floating"), named={"of": "core"}
                ),
                says="a stator winding that supplies alternating current; at running speed `open` V with no load "
                "and `short` A into an ammeter, ohm at rest; `of` another winding on the same core; three ends: whole, "
                "tap, common; `floating`: insulated from ground",
            ),
        },
        properties={
            "voltage": Property(fact="volts", dimension="voltage", only=("battery",), says="V at rest, charged"),
            "capacity": Property(fact="amp_hours", dimension="charge", only=("battery",), says="Ah"),
            "resistance": Property(fact="ohms", dimension="resistance", only=("battery",), says="ohm inside it"),
            **_GIVES,
            "speeds": Property(
                *("speeds", "share", "most_speed", _MACHINE),
                says="idling and most speed as shares of running; 30 % and 180 % if left out",
            ),
        },
    ),
    "rectifier": Kind(
        says="diodes elsewhere than in the alternator, with a regulator or without",
        words=Words(ratings={"current": "amps"}, flags=flags("control", "shunt", "series")),
        lines={
            "phases": Line(fact="phases", least=2, most=3, says="where the stator's phases go"),
            "output": Line(fact="output", least=2, most=2, words=_OUTPUT.words, says="its output, + and -, and W"),
            "trio": Line(fact="trio", least=1, most=1, says="the small diodes that feed a field"),
        },
        properties={
            name: Property(fact=prop.fact, dimension=prop.dimension, says=prop.says) for name, prop in _GIVES.items()
        },
    ),
    "regulator": Kind(
        says="a voltage regulator of an alternator or dynamo",
        words=Words(ratings={"current": "amps"}),
        lines={
            "passes": Line(fact="passes", least=2, most=2, says="what feeds the field through it: in, then out"),
            "sense": Line(fact="sense", least=2, most=2, says="its sense terminals, + and -"),
            "cut-out": Line(
                fact="cut_out",
                least=2,
                most=2,
                words=Words(ratings={"voltage": "cut_out_volts"}),
                says="connects in one direction, dynamo to battery, from this voltage on",
            ),
            "shunts": Line(
                fact="shunts",
                least=2,
                most=2,
                words=Words(ratings={"voltage": "shunt_volts"}),
                says="limits an alternating winding to this voltage",
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
        says="an ammeter: nearly no resistance", terminals=("1", "2"), words=Words(ratings={"current": "amps"})
    ),
    "fuse": Kind(
        says="a fuse, a fusible link or a breaker, by its continuous rating",
        terminals=("1", "2"),
        words=Words(
            ratings={"current": "amps"},
            keyed={"blows": ("blows", "current")},
            flags={**flags("form", "blade", "strip", "glass", "torpedo", "link", "breaker"), **yes("sealed")},
        ),
    ),
    "switch": Kind(
        says="contacts that a hand, a foot or a sensed quantity moves",
        words=Words(ratings={"current": "amps"}, flags=yes("key", "momentary")),
        marks=("senses",),
        free=Line(
            fact="positions",
            least=0,
            most=None,
            pairs=True,
            once=False,
            words=Words(flags={STOP: ("stops", True)}),
            says="a position: the pairs of terminals that it connects; `stop` after its name: a stop control too",
        ),
        properties={"rests": Property(fact="rests", says="the position at rest, where it is not the first")},
    ),
    "relay": Kind(
        says="contacts that a coil moves",
        words=Words(
            ratings={"current": "amps"},
            flags=yes("clamped", "sealed"),
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
            "released": _pairs("released", "the pairs connected while the coil is not fed"),
            "pulled": _pairs("pulled", "the pairs connected while the coil is fed"),
        },
        properties={
            "pulls": Property(fact="pulls", dimension="voltage", says="V at which it pulls in"),
            "holds": Property(fact="holds", dimension="voltage", says="V below which it drops out"),
        },
    ),
    "flasher": Kind(
        says="a flasher for turn lamps",
        words=Words(ratings={"power": "watts"}, flags=flags("how", "thermal", "electronic"), upto="watts"),
        lines={
            "flash": Line(fact="flash", least=2, most=2, says="its feed and its flashing output"),
            "pilot": Line(fact="pilot", least=1, most=1, says="output for the tell-tale"),
            "supply": Line(fact="supply", least=2, most=2, says="its supply: + and -"),
        },
    ),
    "load": Kind(says="a consumer of current", words=CONSUMER, lines={"stop-lead": _STOP_LEAD}, free=_ELEMENT),
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
                says="its supply, + and -, with its current awake and asleep; a second one has a name",
            ),
            "input": Line(
                fact="inputs",
                least=1,
                most=2,
                name="must",
                once=False,
                words=Words(flags=flags("mode", "grounded", "fed", "signal")),
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
                    flags=yes("flashing", "grounded", "clamped"),
                    keyed_first=True,
                ),
                says="on while its condition holds; `trips`: protects its wire; `after` s: comes on this much later; "
                "`holds` s: stays on this much longer; `pulsing` %: on for this share of the time; V: a separate "
                "reference voltage; `from` a second supply",
            ),
            "common": Line(fact="commons", least=1, most=1, once=False, says="a separate return for its sensors"),
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
        words=Words(ratings={"count": "ways", "current": "amps"}, flags=yes("sealed")),
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
    "splice": Kind(says="wires joined for good", words=Words(flags=yes("sealed"))),
    "ground": Kind(says="a body of metal that is used as a return, with a stud at each of its places"),
}
"""The kinds of part. ``source`` has the terminals ``+ -`` where it is a battery; ``connector`` its ways."""


GAP: Final = "-"
"""In a row of a face, where there is no way."""


BATTERY_TERMINALS: Final = ("+", "-")


ONE_NODE: Final = ("splice", "ground")
"""Kinds whose one node is the part's own name: a wire ends at them without a terminal."""


ALWAYS: Final = "always"


PART_FLAGS: Final = yes("kept", ALWAYS)
"""Words that every part may have, besides ``at``, ``for``, ``as``, ``was`` and a label."""


PART_KEYED: Final[Mapping[str, tuple[str, str]]] = MappingProxyType({"leg": ("leg", "length")})
"""Words that every part may have with a quantity after them."""


PART_TRAITS: Final = ("senses", "at", "leg", "for", "as", "kept", "was", "always", "label")
"""What may follow the words of a part's own kind, in the order in which it is best written."""
