"""A lamp that takes far more than its winding can give."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.quantities.quantity import Quantity, apart, shown
from ...ac.lamps_on_windings import TOO_MUCH, exchanged, too_large
from ...findings.finding import Figure, Finding, Level
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    for fed in too_large(study):
        if exchanged(study, fed) is not None:
            continue  # exchanged-windings says so
        winding, lamp = fed.winding, fed.lamp
        takes, gives = apart(Quantity(fed.watts, "W"), Quantity(fed.gives, "W"))
        yield Finding(
            rule=RULE.name,
            level=RULE.level,
            message=f"{lamp.key} takes {takes} and {winding.key} gives {gives}",
            span=lamp.span,
            about=(lamp.part, winding.part),
            figures=(Figure("takes", fed.watts, "W"), Figure("winding gives", fed.gives, "W")),
            source=RULE.source,
            remedy=f"fit a bulb of {shown(fed.gives)} W or less at {lamp.part}, or find out which "
            f"winding is meant for it",
        )


RULE = Rule(
    name="winding-too-weak",
    level=Level.ERROR,
    family="behaviour",
    catches=f"a lamp on an alternating winding that takes over {shown(TOO_MUCH)} times the watts of the winding",
    why="""A winding gives what it was wound for and no more: a larger bulb on it is not brighter but darker, since the
    voltage falls away. A headlamp on the winding for the tail lamp only glows.""",
    source="ours: 1.5 times, so that the spread of bulbs and windings raises no false alarm",
    formula="found where P(lamp) > 1.5 P(winding), the lamp connected to both ends of it, contacts closed",
    cautions="A winding without its lamps can give several times its voltage: measure with every lamp connected.",
    find=find,
)
