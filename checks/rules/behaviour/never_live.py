"""A load that nothing can feed."""

from __future__ import annotations

import math
from collections.abc import Iterator

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType
from ....lang.circuit.ids import End
from ....lang.model.conditions import BY_ITSELF
from ....lang.quantities.quantity import Quantity
from ...behaviour import stop_lead
from ...dc.solved import is_stopped
from ...findings.finding import Finding, Level
from ...operation.stop_paths import RUNS_ON, STOPPED, stop_path
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    behaviour = study.behaviour
    for branch in behaviour.consumers:
        if not study.is_asked_at(branch.span):
            continue
        with study.judging(branch.part):
            if branch.branch_type.in_series or not behaviour.wired(branch):
                continue
            ends = (behaviour.fed(terminal) for terminal in (branch.a, branch.b))
            found_in = behaviour.holds_in(behaviour.any_of(behaviour.live(branch.key), *ends), plausible=True)
            if found_in or not found_in.space.possible:
                continue
            if behaviour.reached_at_all(branch):
                continue
            outputs = _outputs(study, branch)
            yield RULE.found(
                "never-fed",
                branch.span,
                facts={"load": branch.key, "terminal": study.protection.feed_end(branch), "outputs": outputs},
                about=(branch.part,),
                fix="output" if outputs else "contact",
                subject=branch.key,
            )
    yield from _choked(study)


def _choked(study: Study) -> Iterator[Finding]:
    """Ignition parts of which something leads the kill wire to its return in every named state in which they are to
    fire.
    """
    for part in study.behaviour.network.harness.parts.values():
        lead = stop_lead(part)
        if lead is None or not study.is_asked_at(part.span):
            continue
        ends = End(part.name, lead[0]), End(part.name, lead[1])
        points = (point for point in study.operation.points.values() if point.engine in BY_ITSELF and not point.shorted)
        there = [point for point in points if not is_stopped(point.flow, part, *ends)]
        paths = [stop_path(point.flow, part) for point in there]
        best = max(paths, key=lambda path: math.inf if path is None else path.share, default=None)
        if best is None or best.share > RUNS_ON:
            continue
        yield RULE.found(
            "choked" if best.share < STOPPED else "perhaps-choked",
            part.span,
            facts={
                "part": part.name,
                "lead": ends[0],
                "back": ends[1],
                "resistance": Quantity(best.ohms, "ohm"),
                "share": Quantity(100.0 * best.share, "%"),
                "limit": Quantity(100.0 * RUNS_ON, "%"),
            },
            level=Level.ERROR if best.share < STOPPED else Level.WARNING,
            about=(part.name,),
            fix="choked",
            subject=part.name,
        )


def _outputs(study: Study, branch: Branch) -> tuple[str, ...]:
    """The outputs of units that a load is wired to: where it is never fed, these are never on."""
    circuit = study.circuit
    of = circuit.nets.of
    poles = {of[node] for s in circuit.supplies for node in (*s.plus, s.minus)}
    here = {of[branch.a], of[branch.b]} - poles
    return tuple(b.key for b in circuit.branches if b.branch_type is BranchType.OUTPUT and here & {of[b.a], of[b.b]})


RULE = Rule(
    name="never-live",
    level=Level.ERROR,
    family="behaviour",
    symptom=True,
    catches="a load that never gets a feed in any switch position, where no other finding shows why; an ignition whose "
    "kill wire is always connected to its return through a cold lamp or a leak",
    why="""A wire on the wrong terminal, or two contacts in series that are never closed together, leave a load without
    a feed. In the workshop that costs a minute; a headlamp that stays off in the dark ends the ride.""",
    source="Loomwright's analysis: every combination of the controls",
    formula="of an ignition with its kill wire connected to its return in every named state in which it is to fire: "
    "error where that leaves under 15 % of its voltage, warning up to 40 % (Loomwright's limit)",
    cautions="Before you bridge anything to make it live, find out what keeps it dead: an interlock may be meant to.",
    says={
        "never-fed": "{load} never gets a feed in any switch position",
        "choked": "{part} never fires: {resistance} from its kill wire {lead} to {back} leaves it {share} of its "
        "voltage, and it runs above {limit}",
        "perhaps-choked": "{part} may never fire: {resistance} from its kill wire {lead} to {back} leaves it {share} "
        "of its voltage, and it runs above {limit}",
    },
    fixes={
        "output": "find out why {outputs:output} {outputs:is|are} never on: check the conditions and the feed of the "
        "unit",
        "choked": "disconnect everything but the stop contacts from {lead}: a lamp or gauge there is a short while it "
        "is cold",
        "contact": "follow the wire from {terminal} back to the contact that never closes, or to the end that is on "
        "the wrong terminal",
    },
    find=find,
)
