"""Two windings of one alternator that are exchanged."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.branch import Branch
from ....lang.editing.proposals import Proposal, SwapEnds
from ....lang.quantities.quantity import shown
from ...ac.lamps_on_windings import exchanged, too_large
from ...findings.finding import Figure, Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    for fed in too_large(study):
        other = exchanged(study, fed)
        if other is None:
            continue
        yield Finding(
            rule=RULE.name,
            level=RULE.level,
            message=f"{fed.winding.key} and {other.key} are exchanged: {fed.lamp.key} takes {shown(fed.watts)} W and "
            f"{fed.winding.key} gives {shown(fed.gives)} W, while {other.key} feeds no lamp",
            span=fed.winding.span,
            about=(fed.winding.part, fed.lamp.part),
            figures=(Figure("takes", fed.watts, "W"), Figure("winding gives", fed.gives, "W")),
            source=RULE.source,
            proposals=(_exchanged(study, fed.winding, other),),
        )


def _exchanged(study: Study, one: Branch, other: Branch) -> Proposal:
    """The leads of two windings exchanged, those at a terminal that both share left where they are."""
    pairs = [(a, b) for a, b in ((one.a, other.a), (one.b, other.b)) if a != b]
    wired = [pair for pair in pairs if any(study.circuit.at.get(node, ()) for node in pair)]
    return Proposal(f"swap the leads of {one.key} and {other.key}", tuple(SwapEnds(a, b) for a, b in wired))


RULE = Rule(
    name="exchanged-windings",
    level=Level.ERROR,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    catches="a lamp too large for its winding, while a winding of the same alternator that is large enough feeds none",
    why="""The leads of an exciter and of a lighting winding leave the engine through one hole, and after forty years
    in one colour. Exchanged, the lamps glow on the small winding and the ignition box gets the large one's
    current and not its own voltage: there is no spark at starting speed, or the box is destroyed.""",
    source="ours: 1.5 times the watts of the winding, as winding-too-weak",
    formula="found where P(lamp) > 1.5 P(its winding), and P(lamp) <= 1.5 P(another that is wired and has no lamp)",
    cautions="An exciter winding gives several hundred volts: touch none of its leads while the engine turns.",
    find=find,
)
