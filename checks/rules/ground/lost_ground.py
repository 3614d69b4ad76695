"""A return that, once lost, makes a dead load work through another."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.editing.proposals import Proposal
from ....lang.quantities.quantity import Quantity
from ...conductors.starter_return import Left, left_to_thin_wires
from ...findings.finding import Figure, Finding, Level, Stage
from ...fixes.new_leads import ground_leads
from ...fmea.open_returns import LostGround, lost_grounds
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    yield from (_finding(study, lost) for lost in lost_grounds(study.operation))
    yield from (_starter(left) for left in left_to_thin_wires(study.conductors))


def _starter(left: Left) -> Finding:
    """A lead in a starter's ground return that, once off, leaves the current to a wire that is not rated for it."""
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
            "lost_size": left.lost.segment.size.text if left.lost.segment and left.lost.segment.size else "",
        },
        about=(left.lost.owner, left.segment.wire, left.starter),
        figures=(Figure("starter", left.amps, "A"), Figure("rated short-time", left.stands, "A")),
        source="adiabatic equation (IEC 60364-5-54) to the class temperature in the profile's cranking time; "
        "common practice, no source: a second strap",
    )


def _second(study: Study, lost: LostGround) -> tuple[Proposal, ...]:
    """A second wire to the body of ground that a conductor ends at; none where it ends at none."""
    conductor, bodies = lost.conductor, study.copper.bodies
    for near, far in ((conductor.a, conductor.b), (conductor.b, conductor.a)):
        if far in bodies and near not in bodies and conductor.segment is not None:
            return tuple(ground_leads(study, near, far, [conductor.segment.size], "a second ground wire"))
    return ()


def _finding(study: Study, lost: LostGround) -> Finding:
    first, share = lost.woken[0]
    second = _second(study, lost)
    return RULE.found(
        "loads",
        study.circuit.by_key[lost.conductor.key].span,
        facts={"conductor": lost.conductor.key, "loads": tuple(branch.key for branch, _ in lost.woken)},
        about=(lost.conductor.owner, *(branch.part for branch, _ in lost.woken)),
        state=lost.state,
        figures=(Figure(f"{first.key} then gets, of its rating", share * 100.0, "%"),),
        fix="second" if second else "loads",
        proposals=second,
        source="common practice, no source: a second ground wire where several lamps share one",
    )


RULE = Rule(
    name="lost-ground",
    level=Level.NOTE,
    family="ground",
    stage=Stage.CONSEQUENCE,
    catches="one return conductor that, once open, feeds a load that was off through another one, or sends a "
    "starter's current through a thin wire",
    why="""Where several loads share one ground return and it comes off, their current returns backwards through a load
    that is off, into whatever the feed of that load supplies: the stop lamp then lights the dials and not itself. The
    lamp that glows and should not shows which wire is open.""",
    source="common practice, no source",
    formula="found where opening one return conductor in a named state brings a load that was off to the share from "
    "which its kind is not off (a lamp: 20 % of its voltage); a tell-tale apart, which may glow through other loads",
    cautions="Where one lamp glows when another one is switched on, check the grounds of both first.",
    says={
        "loads": "{loads...}, off until then, {loads:gets|get} current through other loads when {conductor} is open",
        "starter": "wire {wire} ([{size}, ]rated {limit} short-time) carries the {current} of {starter} when "
        "{conductor} is open",
    },
    fixes={
        "loads": "fit a second return wire in parallel with {conductor}, each of its ends in a separate crimp",
        "second": "put it on another stud",
        "starter": "fit a second ground lead[ of {lost_size}] in parallel with {conductor}, on other studs",
    },
    find=find,
)
