"""Two connectors that fit each other, with harm when they are swapped."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations
from typing import Final

from ....lang.circuit.branch_types import BranchType, Direction
from ....lang.circuit.circuit import Circuit
from ....lang.circuit.ids import End
from ....lang.editing.proposals import Proposal, SetQuantity
from ....lang.model.parts import Connector
from ....lang.quantities.quantity import Quantity
from ...behaviour import Behaviour
from ...behaviour.stopping import ignition_parts, kills
from ...findings.facts import Fact
from ...findings.finding import Finding, Level
from ...fixes.house_connectors import is_of
from ...protection.protection import Protection
from ...rule import Rule
from ...study import Study

Harm = tuple[str, dict[str, Fact]]
"""The case of a finding, and its separate facts."""

MOST_MORE = 4
"""Further ways up to which a connector of another shape is looked for (Loomwright's limit)."""


def find(study: Study) -> Iterator[Finding]:
    connectors = [part for part in study.harness.parts.values() if isinstance(part, Connector)]
    for one, other in combinations(connectors, 2):
        if one.place is None or _shape(one) != _shape(other):
            continue
        if {one.name, other.name} - set(_wired(study.circuit)):
            continue
        circuit = _crossed(study.circuit, one, other)
        harm = _harm(study.protection, Protection(circuit, study.profile))
        harm = harm or _unstopped(study, circuit)
        if harm:
            case, facts = harm
            proposals = tuple(_unlike(study, other))
            yield RULE.found(
                case,
                other.span,
                facts={"one": one.name, "other": other.name, "place": one.place, **facts},
                fix="none" if proposals else "other-ways",
                about=(one.name, other.name),
                source=f"{RULE.source}; profile {study.profile.title}",
                proposals=proposals,
            )


def _unlike(study: Study, part: Connector) -> Iterator[Proposal]:
    """A connector with more ways: of a number that no other of its kind at the place has, and that the shop keeps."""
    harness = study.harness
    shapes = {_shape(each) for each in harness.parts.values() if isinstance(each, Connector)}
    for ways in range(part.ways + 1, part.ways + MOST_MORE + 1):
        larger = replace(part, ways=ways)
        kept = not harness.house.connectors or any(is_of(larger, family) for family in harness.house.connectors)
        if _shape(larger) not in shapes and kept:
            yield Proposal(
                f"fit a connector of {ways} ways at {part.name}", (SetQuantity(part.name, "count", f"{ways} ways"),)
            )
            return


def _shape(part: Connector) -> tuple[str | None, int, bool, float | None]:
    return (part.place, part.ways, part.sealed, part.amps)


def _wired(circuit: Circuit) -> Iterator[str]:
    for branch in circuit.branches:
        if branch.segment is not None:
            yield branch.segment.a.part
            yield branch.segment.b.part


def _crossed(circuit: Circuit, one: Connector, other: Connector) -> Circuit:
    """The same circuit with the socket half of each connector on the pin half of the other."""
    mate = {one.name: other.name, other.name: one.name}
    branches = tuple(
        replace(b, b=End(mate[b.part], b.b.terminal)) if b.branch_type is BranchType.WAY and b.part in mate else b
        for b in circuit.branches
    )
    return Circuit(circuit.harness, branches, circuit.supplies, circuit.controls, circuit.removed)


def _harm(right: Protection, crossed: Protection) -> Harm | None:
    """What goes wrong in the crossed harness that does not in the right one."""
    if crossed.shorted and not right.shorted:
        return "short", {}
    if crossed.can_short and not right.can_short:
        return "switched-short", {}
    for branch in crossed.circuit.branches:
        minds = branch.branch_type.consumes and branch.branch_type.as_load is Direction.FORWARD
        if minds and crossed.can_be_reversed(branch) and not right.can_be_reversed(branch):
            return "reversed", {"load": branch.key}
    for name, sustained_fault in crossed.sustained_faults.items():
        segment = sustained_fault.conductor.segment
        before = right.sustained_faults.get(name)
        if segment is None or (before is not None and sustained_fault.amps <= before.amps):
            continue
        if sustained_fault.conductor.key in crossed.cranking_path.feed:
            continue
        if not sustained_fault.protected:
            return "unfused", {"wire": segment.wire}
        carries = right.ampacities.judged(segment)
        if carries is None or carries.amps is None or not sustained_fault.known or not sustained_fault.devices:
            continue
        if sustained_fault.amps > carries.amps * right.profile.fuse_error_share:
            return "oversized-fuse", {
                "wire": segment.wire,
                "size": segment.size.text if segment.size else "",
                "carries": Quantity(carries.amps, "A"),
                "devices": tuple(sustained_fault.devices),
                "passes": Quantity(sustained_fault.amps, "A"),
            }
    return None


def _unstopped(study: Study, crossed: Circuit) -> Harm | None:
    """A stop control that stops a part in the right harness and not in the crossed one."""
    if not ignition_parts(study.behaviour.network):
        return None
    failed = {(kill.control, kill.part) for kill in study.properties.kills if kill.proof.ended == "refuted"}
    for kill in kills(Behaviour.of(crossed).logic):
        if kill.proof.ended == "refuted" and (kill.control, kill.part) not in failed:
            return "no-stop", {"control": str(kill.control), "part": kill.part}
    return None


ALIKE: Final = "{one} and {other} are alike at {place}; plugged into each other, "


RULE = Rule(
    name="look-alike-plugs",
    level=Level.WARNING,
    family="workmanship",
    catches="two connectors alike at one place that do harm when plugged into each other",
    why="""Two plugs of one shape under one tank get swapped at some repair. Mostly the wrong lamp comes on, which is
    seen at once. Where a feed meets a ground, or a thin wire a large fuse, the harm is done or goes unseen.""",
    source="common practice, no source",
    formula="""each socket half on the other's pins, contacts in any position, found where
       a feed pole reaches a return pole through no load
   or  a polarised load (led, electronics, a unit's supply) can be fed with reversed polarity
   or  a wire loses its fuse, or its sustained fault current rises above 150 % of its ampacity
   or  a stop control no longer stops an ignition part that it stops now""",
    cautions="Mark both halves of every plug before it is pulled.",
    says={
        "short": f"{ALIKE}they short the battery",
        "switched-short": f"{ALIKE}a switch shorts the battery",
        "reversed": f"{ALIKE}{{load}} is fed with reversed polarity",
        "unfused": f"{ALIKE}wire {{wire}} has no fuse",
        "oversized-fuse": f"{ALIKE}wire {{wire}} ([{{size}}, ]rated {{carries}} continuous) is protected only by "
        "{devices} ({passes})",
        "no-stop": f"{ALIKE}{{control}} does not stop {{part}}",
    },
    fixes={
        "none": "",
        "other-ways": "fit a connector of another shape or number of ways at {other}",
    },
    find=find,
)
