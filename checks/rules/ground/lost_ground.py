"""A return that, once lost, makes a dead load work through another."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.quantities.quantity import Quantity
from ...conductors.starter_return import Left, left_to_thin_wires
from ...findings.finding import Figure, Finding, Level, Stage
from ...fmea.open_returns import LostGround, lost_grounds
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    yield from (_finding(lost) for lost in lost_grounds(study.operation))
    yield from (_starter(left) for left in left_to_thin_wires(study.conductors))


def _starter(left: Left) -> Finding:
    """A lead in a starter's way back that, once off, leaves the current to a wire that is not rated for it."""
    return RULE.found(
        "starter",
        left.lost.span,
        facts={
            "conductor": left.lost.key,
            "starter": left.starter,
            "wire": left.segment.wire,
            "size": left.segment.size.text if left.segment.size else "",
            "current": Quantity(left.amps, "A"),
            "limit": Quantity(left.stands, "A"),
        },
        about=(left.lost.owner, left.segment.wire, left.starter),
        figures=(Figure("starter", left.amps, "A"), Figure("rated short-time", left.stands, "A")),
        source="k S / sqrt(t) of the profile's cranking time; common practice, no source: a second strap",
    )


def _finding(lost: LostGround) -> Finding:
    first, share = lost.woken[0]
    return RULE.found(
        "loads",
        lost.conductor.span,
        facts={"conductor": lost.conductor.key, "loads": tuple(branch.key for branch, _ in lost.woken)},
        about=(lost.conductor.owner, *(branch.part for branch, _ in lost.woken)),
        state=lost.state,
        figures=(Figure(f"{first.key} then gets", share * 100.0, "%"),),
        source="common practice, no source: a separate ground wire for each lamp",
    )


RULE = Rule(
    name="lost-ground",
    level=Level.NOTE,
    family="ground",
    stage=Stage.CONSEQUENCE,
    catches="one return conductor that, once open, feeds a load that was off through another one, or leaves a "
    "starter's current to a thin wire",
    why="""Where several loads share one ground return and it comes off, their current returns backwards through a load
    that is off, into whatever the feed of that load supplies: the stop lamp then lights the dials and not itself. The
    lamp that glows and should not shows which wire is open.""",
    source="common practice, no source",
    formula="found where opening one return conductor in a named state lifts a dead load to its dead share or above",
    cautions="Where one lamp glows when another one is switched on, check the grounds of both first.",
    says={
        "loads": "{loads...}, off until then, {loads:gets|get} current through other loads when {conductor} is open",
        "starter": "wire {wire} ([{size}, ]rated {limit} short-time) carries the {current} of {starter} when "
        "{conductor} is open",
    },
    fixes={
        "loads": "fit a separate ground wire at each load; a sign of {conductor} open: two lamps glow when one is "
        "switched on",
        "starter": "fit a second ground lead of the same size in parallel with {conductor}",
    },
    find=find,
)
