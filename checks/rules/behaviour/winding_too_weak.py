"""A lamp of far more power than its winding delivers."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.quantities.quantity import Quantity, shown
from ...behaviour.lamps_on_windings import TOO_MUCH, exchanged, off_volts, too_large
from ...findings.finding import Figure, Finding, Level
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    misled = {each.element.key for each in off_volts(study.copper)}  # by the volts of its winding
    for fed in too_large(study.copper):
        if fed.lamp.key in misled:
            continue
        if exchanged(study.copper, fed) is not None:
            continue  # exchanged-windings says so
        winding, lamp = fed.winding, fed.lamp
        yield RULE.found(
            "too-weak",
            lamp.span,
            facts={
                "lamp": lamp.key,
                "power": Quantity(fed.watts, "W"),
                "winding": winding.key,
                "rated": Quantity(fed.gives, "W"),
                "part": lamp.part,
            },
            about=(lamp.part, winding.part),
            figures=(Figure("lamp", fed.watts, "W"), Figure("winding", fed.gives, "W")),
        )


RULE = Rule(
    name="winding-too-weak",
    level=Level.ERROR,
    family="behaviour",
    catches=f"a lamp on an alternating winding rated over {shown(TOO_MUCH)} times the watts of the winding",
    why="""A winding delivers the power that it was wound for and no more: a larger bulb on it is dimmer, not brighter,
    since the voltage drops. A headlamp on the winding for the tail lamp only glows.""",
    source="Loomwright's limit: 1.5 times, for the spread of bulbs and windings",
    formula="found where P(lamp) > 1.5 P(winding), the lamp connected to both ends of it, contacts closed",
    cautions="A winding without its lamps can reach several times its rated voltage: measure with every lamp "
    "connected.",
    says={"too-weak": "{lamp} is rated {power} and {winding} delivers {rated}: the lamp stays dim"},
    fixes={
        "too-weak": "find out which winding {lamp} belongs on, and move its lead there; where {winding} is the only "
        "one, the lamps on it must together add up to {rated}"
    },
    find=find,
)
