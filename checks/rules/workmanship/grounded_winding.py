"""A winding or a phase that must be insulated from ground and is not."""

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
        yield RULE.found(
            "winding",
            branch.span,
            facts={"winding": branch.key, "ground": path[-1]},
            about=owners_of(circuit, path),
            path=path,
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
            yield RULE.found(
                "phase",
                part.span,
                facts={"phase": str(node), "other": str(at)},
                about=(part.name, at.part),
                path=(node, at),
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
    why="""Both ends of a stator winding that feeds a full-wave rectifier alternate against the frame. When one of
    them is grounded, even by the shell of a lamp, every second half-wave is shorted through the rectifier: the
    battery is not charged, and winding and rectifier overheat.""",
    source="Loomwright's analysis: every path through wires, contacts in any position and loads; for phases, "
    "through wires and fuses",
    says={
        "winding": "{winding} is `floating`, and has a path to {ground}",
        "phase": "phase {phase} is connected to {other}, and a phase is connected only to its rectifier",
    },
    fixes={
        "winding": "lead a return wire from each load of {winding} back to the winding, insulated from {ground}",
        "phase": "connect {phase} to a phase terminal of its rectifier, and to nothing else",
    },
    find=find,
)
