"""What each word means to a rider."""

from __future__ import annotations

from typing import Final

from .kinds import KINDS, ROLES, WHATS
from .wires import COVERS, OFFERED, THROUGH

MEANINGS: Final[dict[str, str]] = {
    **{name: kind.says for name, kind in KINDS.items()},
    **WHATS,
    **ROLES,
    # what a source, a fuse, a switch or a flasher is
    "battery": "a battery, its terminals `+` and `-`",
    "alternator": "a generator with rectifier; one with a wound field must be excited before it charges",
    "dynamo": "a generator with commutator, which excites itself",
    "lithium": "a battery of lithium cells",
    "shunt": "a regulator that limits the voltage by shorting the phases",
    "blade": "a blade fuse",
    "strip": "a strip fuse, bolted down",
    "glass": "a glass tube fuse",
    "torpedo": "a ceramic torpedo fuse",
    "link": "a fusible link",
    "breaker": "a circuit breaker",
    "blows": "the A that an old fuse is marked with: the current that blows it",
    "key": "the ignition switch",
    "momentary": "springs back to rest when it is released",
    "senses": "the quantity that moves a switch in place of the rider's hand; it names the positions",
    "clamped": "with suppression of the coil's voltage spike inside",
    "clamp": "what suppresses the coil's voltage spike: a `diode` (the coil's + is then its first terminal) or a "
    "`resistor`",
    "thermal": "a flasher with a bimetal, whose rate depends on the lamp load",
    "electronic": "a flasher whose rate does not depend on the lamp load",
    "sealed": "water stays out: a sealed plug or holder, a splice under heat-shrink with adhesive",
    # consumers
    "duty": "the share of time in which it draws its current",
    "needs": "V from which it works, where that is not the usual share",
    # units and machines
    "floating": "this winding is insulated from ground",
    "asleep": "A that it draws with all outputs off",
    "grounded": "active where it is connected to the unit's ground; an output grounds its terminal",
    "fed": "active where it is connected to a live feed",
    "signal": "a sensor's signal",
    "flashing": "goes on and off by itself",
    "trips": "A at which it opens by itself: it protects its wire like a fuse of that rating",
    "holds": "s for which it stays on after its condition ends; V below which a relay drops out",
    "after": "s by which it comes on after its condition",
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
    "always": "may be live with the ignition off; `always in KEY park`: in that position only",
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
