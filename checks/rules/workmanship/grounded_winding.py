"""A winding or a phase that may touch no ground and does."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import Direction
from ....lang.circuit.ids import End
from ....lang.circuit.paths import path as path_over
from ....lang.model.parts import Ground, Rectifier, Source, Winding
from ...behaviour.counterexample import names_of, owners_of
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    circuit = study.circuit
    grounds = {part.name for part in study.harness.parts.values() if isinstance(part, Ground)}
    for branch in circuit.branches:
        winding = branch.item
        if not isinstance(winding, Winding) or not winding.floating:
            continue
        ends = [End(branch.part, terminal) for terminal in winding.terminals]
        way = path_over(circuit, ends, grounds, _beyond_its_own)
        if way is None:
            continue
        path = names_of(way)
        yield Finding(
            rule=RULE.name,
            level=RULE.level,
            message=f"{branch.key} may touch no ground and has a way to {path[-1]}",
            span=branch.span,
            about=tuple(owners_of(circuit, path)),
            path=path,
            source=RULE.source,
            remedy=f"give each load of {branch.key} a return wire of its own to the winding, insulated from {path[-1]}",
        )
    yield from _phases(study)


def _phases(study: Study) -> Iterator[Finding]:
    """Phases that copper or a fuse connects to a ground, to a pole of a source or to a rectifier's output."""
    joined, circuit = study.copper.fused, study.circuit
    poles = [node for supply in circuit.supplies if supply.kind != "winding" for node in (*supply.plus, supply.minus)]
    told: set[str] = set()
    for part in study.harness.parts.values():
        if not isinstance(part, Source | Rectifier):
            continue
        for phase in part.phases:
            node = End(part.name, phase)
            at = next((other for other in (*study.copper.bodies, *poles) if joined.same(node, other)), None)
            if at is None or joined.of(node) in told or at == node:
                continue
            told.add(joined.of(node))
            yield Finding(
                rule=RULE.name,
                level=RULE.level,
                message=f"phase {node} is connected to {at}, and a phase may be connected to its rectifier only",
                span=part.span,
                about=(part.name, at.part),
                path=(node, at),
                source=RULE.source,
                remedy=f"connect {node} to a phase terminal of its rectifier, and to nothing else",
            )


def _beyond_its_own(branch: Branch) -> bool:
    """Whether a winding's current can pass there without meaning to: through wires, contacts in any position and
    consumers, not through what a rectifier is made of, since that is where it is meant to go.
    """
    return branch.branch_type.as_load is Direction.BOTH


RULE = Rule(
    name="grounded-winding",
    level=Level.ERROR,
    family="workmanship",
    stage=Stage.TOPOLOGY,
    catches="a `floating` winding with a path to ground, or a phase connected to a ground, a pole or an output",
    why="""A stator that feeds a full-wave rectifier swings both its ends against the frame. Ground one of them, if
    only by the shell of a lamp, and half of the machine is shorted through the rectifier: it charges
    nothing and cooks.""",
    source="ours: every way through wires, contacts in any position and consumers is followed; for phases, through "
    "wires and fuses",
    find=find,
)
