"""A return that, once lost, makes a dead load work through another."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.model.parts import Element
from ....lang.quantities.quantity import Quantity, apart
from ...conductors.starter_return import Left, left_to_thin_wires
from ...findings.finding import Figure, Finding, Level, Stage
from ...fmea.open_returns import LostGround, lost_grounds
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    yield from (_finding(lost) for lost in lost_grounds(study.operation))
    yield from (_starter(left) for left in left_to_thin_wires(study))


def _starter(left: Left) -> Finding:
    """A lead in a starter's way back that, once off, leaves the current to a wire that does not stand it."""
    size = left.segment.size.text if left.segment.size else ""
    carried, rated = apart(Quantity(left.amps, "A"), Quantity(left.stands, "A"))
    return Finding(
        rule=RULE.name,
        level=Level.NOTE,
        message=f"{left.lost.key} open: the {carried} of {left.starter} go through wire {left.segment.wire} "
        f"({size}, rated {rated} short-time)",
        span=left.lost.span,
        about=tuple(dict.fromkeys((left.lost.owner, left.segment.wire, left.starter))),
        figures=(Figure("starter", left.amps, "A"), Figure("rated short-time", left.stands, "A")),
        source="k S / sqrt(t) of the profile's cranking time; common practice, no source: a second strap",
        remedy=f"fit a second ground lead of the same size beside {left.lost.key}",
    )


def _finding(lost: LostGround) -> Finding:
    names = [branch.key for branch, _ in lost.woken]
    first, share = lost.woken[0]
    more = f" and {len(names) - 1} more" if len(names) > 1 else ""
    roles = first.item.roles if isinstance(first.item, Element) else ()
    role = f" ({roles[0]})" if roles else ""
    return Finding(
        rule=RULE.name,
        level=Level.NOTE,
        message=f"{lost.conductor.key} open: {first.key}{role}{more}, dead before, works through other loads",
        span=lost.conductor.span,
        about=tuple(dict.fromkeys((lost.conductor.owner, *(branch.part for branch, _ in lost.woken)))),
        state=lost.state,
        figures=(Figure(f"{first.key} then gets", share * 100.0, "%"),),
        source="common practice, no source: each lamp its own way to the body of ground",
        remedy=f"ground each load by a wire of its own; a sign of {lost.conductor.key} open: two lamps glow when "
        "one is "
        "switched on",
    )


RULE = Rule(
    name="lost-ground",
    level=Level.NOTE,
    family="ground",
    stage=Stage.CONSEQUENCE,
    catches="one return conductor that, once open, makes a dead load work through another, or leaves a "
    "starter's current to a thin wire",
    why="""Where several loads share one way back and it comes off, their current looks for another: through a lamp that
    is off, against its direction, into whatever that lamp's feed hangs on. The stop lamp then lights the dials and not
    itself. The fault is told by what glows that should not; who knows which wire it is finds it at once.""",
    source="common practice, no source",
    formula="found where opening one return conductor in a named state lifts a dead load to its dead share or above",
    cautions="A lamp that lights another one dimly has lost its ground: look there first.",
    find=find,
)
