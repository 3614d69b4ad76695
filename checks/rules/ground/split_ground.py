"""A body of ground that nothing connects to the battery."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.ids import End
from ...behaviour.counterexample import owners_of
from ...findings.finding import Finding, Level, Stage
from ...fixes.lost_returns import grounded_poles
from ...fixes.new_leads import ground_leads
from ...fixes.straps import strap
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    copper, circuit = study.copper, study.circuit
    poles = grounded_poles(study)
    on_bodies = [pole for pole in poles if any(copper.switched.same(body, pole) for body in copper.bodies)]
    battery = any(supply.kind == "battery" for supply in circuit.supplies)
    # A battery the wrong way round is battery-reversed. Without a battery a source may well be on no body at all.
    if not poles or (not on_bodies and (not battery or _reversed(study))):
        return
    pole = (on_bodies or poles)[0]
    home = next((body for body in copper.bodies if copper.switched.same(body, pole)), pole)
    told: set[str] = set()
    for body in copper.bodies:
        group = copper.switched.of(body)
        if group in told or any(copper.switched.same(body, each) for each in poles):
            continue
        if not any(copper.at_all.same(body, each) for each in poles):
            continue
        told.add(group)
        bodies = [other for other in copper.bodies if copper.switched.same(other, body)]
        parts = list(dict.fromkeys(owners_of(circuit, tuple(_parts_on(study, bodies)))))
        found = strap(study, bodies, home, pole)
        straps = tuple(ground_leads(study, body, found.to, (found.size,), "a strap"))
        yield RULE.found(
            "split",
            study.harness.parts[body].span,
            facts={
                "bodies": tuple(bodies),
                "body": body,
                "pole": pole,
                "parts": tuple(parts),
                "ground": found.to,
                "starters": found.starters,
                "source": "the battery" if battery else "the alternator or dynamo",
            },
            about=(*bodies, pole.part, *parts),
            fix=None if straps else "starter" if found.starters else "strap",
            proposals=straps,
            explains=tuple(f"ground {each}" for each in bodies),
        )


def _reversed(study: Study) -> bool:
    """Whether the other pole of a battery is on a body of ground."""
    circuit = study.circuit
    others = (
        supply.plus[0] if circuit.return_sign == "-" else supply.minus
        for supply in circuit.supplies
        if supply.kind == "battery"
    )
    return any(study.copper.body_at(other) for other in others)


def _parts_on(study: Study, bodies: list[End]) -> Iterator[str]:
    """The parts that something inside returns to one of these bodies, in the order of the text."""
    copper = study.copper
    for branch in study.circuit.branches:
        if branch.branch_type.consumes and any(
            copper.fused.same(branch.b, b) or copper.fused.same(branch.a, b) for b in bodies
        ):
            yield branch.part


RULE = Rule(
    name="split-ground",
    level=Level.ERROR,
    family="ground",
    stage=Stage.SUPPLY,
    root_cause=True,
    catches="a body of ground in use that nothing connects to the grounded pole of the battery",
    why="""Frame and engine are two grounds until a strap connects them: engine mounts are rubber, and steering heads
    and swing arms run in grease. Every load on a ground that is not connected to the battery is off, or its current
    returns through a clutch cable or a bearing, which gets hot. It is reported first, because it upsets everything
    else.""",
    source="Loomwright's analysis: what wires, mounts, fuses, meters and contacts connect to the grounded pole",
    cautions="Disconnect the grounded lead of the battery before you fit a strap, and scrape paint to bright metal.",
    says={
        "split": "{bodies} {bodies:is|are} not connected to {pole}[: {parts...} {parts:has|have} no ground return]",
    },
    fixes={
        "strap": "fit a strap from {body} to {ground}, of the size of the ground lead of {source}",
        "starter": "fit a strap from {body} to {ground}, as thick as the lead that feeds {starters}",
    },
    find=find,
)
