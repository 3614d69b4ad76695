"""An ignition part that is kept fed by the running engine's own alternator or dynamo, or through other loads."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import product
from typing import TYPE_CHECKING, Final

from ....lang.circuit.branch_types import BranchType
from ....lang.circuit.ids import End
from ...behaviour import BATTERY, stop_lead
from ...behaviour.properties import AFTER_SHORT, ONCE_BLOWN
from ...findings.facts import Fact
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study

if TYPE_CHECKING:
    from ...behaviour import Behaviour, Combination
    from ...behaviour.keys import StopControl
    from ...behaviour.stopping import Kill


def find(study: Study) -> Iterator[Finding]:
    parts = study.harness.parts
    for kill in study.properties.kills:
        proof = kill.proof
        if proof.ended != "refuted" or proof.by not in ("machine", "loads"):
            continue
        case = fix = "generator" if proof.by == "machine" else "loads"
        facts: dict[str, Fact] = {
            "part": kill.part,
            "control": str(kill.control),
            "switch": kill.control.switch,
            "position": kill.control.position,
            "blown": tuple(proof.after),
            **_charging_lead(study, proof.path),
        }
        if proof.shown is not None and (lead := stop_lead(parts[kill.part])):
            ends = (End(kill.part, lead[0]), End(kill.part, lead[1]))
            broken, more = _unstopped(study.behaviour, proof.shown, kill.control, *ends)
            facts |= more
            case = f"{case}-{broken}"
            # What no battery ever feeds has no feed to be moved: only its kill wire stops it.
            beyond = facts["far"] != kill.part  # a lead straight to the part is its feed, and no charging lead
            wired_otherwise = beyond and (proof.by == "loads" or _battery_feeds(study.behaviour, kill))
            fix = f"{broken}-or-{fix}" if wired_otherwise else broken
        yield RULE.found(
            case,
            parts[kill.control.switch].span,
            facts=facts,
            about=(kill.part, kill.control.switch),
            shown=proof.shown,
            path=proof.path,
            fix=fix,
            # A box and the coil that it drives run on the same current, and one repair answers both.
            group=f"{kill.control}: {proof.of}" if proof.of else "",
        )


def _charging_lead(study: Study, path: tuple[str, ...]) -> Mapping[str, Fact]:
    """The alternator or dynamo that a path starts at, the wire at its output and where that wire is connected."""
    output = next((step for step in path if isinstance(step, End)), None)
    segments = study.circuit.pieces_at(output) if output is not None else ()
    wire = study.harness.wires.get(segments[0].wire) if len(segments) == 1 else None
    far = next((end.node for end in (wire.b, wire.a) if end.node != output), None) if wire is not None else None
    return {
        "machine": output.part if output is not None else "",
        "far": far.part if far is not None else "",
        "lead": f"wire {wire.name} from {far}" if wire is not None and far is not None else "the charging lead",
    }


def _unstopped(
    behaviour: Behaviour, shown: Combination, control: StopControl, lead: str, back: str
) -> tuple[str, Mapping[str, Fact]]:
    """The case of where a kill wire ends that does not reach its part's own return, and the facts of it."""
    contacts = [b for b in behaviour.circuit.of_part.get(control.switch, ()) if b.branch_type is BranchType.CONTACT]
    closed = [contact for contact in contacts if behaviour.closed(shown, contact)]
    facts: dict[str, Fact] = {"stop_lead": lead, "back": back}
    for contact in closed:
        ends = (contact.a, contact.b)
        ways = [(len(way), end) for end in ends if (way := behaviour.way(shown, lead, end)) is not None]
        if ways:
            return "far", {**facts, "contact": max(ways)[1]}
        ways = [(len(way), end) for end in ends if (way := behaviour.way(shown, end, back)) is not None]
        if ways:
            return "near", {**facts, "contact": max(ways)[1]}
    return "apart" if closed else "open", facts


def _battery_feeds(behaviour: Behaviour, kill: Kill) -> bool:
    return bool(behaviour.holds_in(behaviour.runs(kill.part, BATTERY, past_ballast=False)))


RUNS_ON: Final = f"{{part}} runs on at {{control}}[ ({{when}})]: {ONCE_BLOWN}"
KEPT_FED: Final = {
    "generator": "{machine}, which the engine turns, keeps it fed",
    "loads": "it is kept fed through other loads",
}
UNSTOPPED: Final = {
    "far": "its kill wire {stop_lead} is connected to {contact}, which is not connected to {back}",
    "near": "its kill wire {stop_lead} is not connected to {contact}",
    "apart": "its kill wire {stop_lead} is not connected to {back}",
    "open": "all contacts of {switch} are open there, so that its kill wire {stop_lead} is not connected to {back}",
}
FEED: Final = {
    "generator": "move {lead} to the battery side of {switch}, by a lead with its own fuse at the battery",
    "loads": "feed {part} by a separate wire that feeds nothing else",
}
BY_CONTACT: Final = "connect {stop_lead} to {back} through a contact of {switch} that closes at {position}"
KILL_WIRE: Final = {
    "far": "connect {contact} to {back}, or to the ground that {back} is on",
    "near": "connect {stop_lead} to {contact}",
    "apart": BY_CONTACT,
    "open": BY_CONTACT,
}

RULE = Rule(
    name="run-on",
    level=Level.ERROR,
    family="stop",
    stage=Stage.FUNCTION,
    catches=(
        "an engine that keeps itself running at a stop control or with the ignition off: by its own alternator or "
        "dynamo, or through other loads"
    ),
    why="""An excited field feeds itself as long as the engine turns, and every load on the same wire with it. An
    alternator connected behind the ignition switch therefore keeps its own ignition fed with the ignition off; so may a
    bulb between two circuits. The fault appears only with the engine running, so the search starts from the running
    engine.""",
    source="Loomwright's analysis: every combination, with relays and excitation as they were left; the shares of "
    "current below which a load is off: Loomwright's limit",
    cautions="""An engine that does not stop at its key: close the fuel tap, or put it in gear with the brakes on and
    let the clutch out. Never pull a battery lead off a running engine: the voltage then rises at once.""",
    says={
        **{case: f"{RUNS_ON}{kept}" for case, kept in KEPT_FED.items()},
        **{
            f"{case}-{end}": f"{RUNS_ON}{kept}, and {unstopped}"
            for (case, kept), (end, unstopped) in product(KEPT_FED.items(), UNSTOPPED.items())
        },
    },
    fixes={
        **{case: f"{AFTER_SHORT}{feed}" for case, feed in FEED.items()},
        **{end: f"{AFTER_SHORT}{wire}" for end, wire in KILL_WIRE.items()},
        **{
            f"{end}-or-{case}": f"{AFTER_SHORT}{wire}; or {feed}"
            for (end, wire), (case, feed) in product(KILL_WIRE.items(), FEED.items())
        },
    },
    find=find,
)
