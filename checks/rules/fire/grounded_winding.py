"""A winding or a phase that must be insulated from ground and is not."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from typing import Final

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType, Direction
from ....lang.circuit.ids import End
from ....lang.circuit.paths import path as path_over
from ....lang.diagnostics.messages import plainly_listed
from ....lang.editing.proposals import DropLine, Proposal
from ....lang.model.parts import Ground, Rectifier, Source, Winding
from ....lang.quantities.quantity import Quantity
from ...ac.equations import WoundEquations
from ...ac.stators import grounded
from ...behaviour.counterexample import names_of, owners_of
from ...findings.facts import Fact
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    circuit = study.circuit
    told: set[End] = set()
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
        told.update(study.copper.fused.of(end) for end in ends)
        rectified = any(
            study.copper.switched.same(end, leg)
            for other in circuit.branches
            if other.branch_type is BranchType.LEG
            for leg in (other.a, other.b)
            for end in ends
        )
        last = circuit.by_key[path[-2]]
        proposals = _insulated(study, last)
        yield RULE.found(
            "rectified" if rectified else "winding",
            branch.span,
            facts={
                "winding": branch.key,
                "ground": path[-1],
                "last": last.key,
                "part": last.part,
                **_figures(study, ends if rectified else []),
            },
            level=None if rectified else Level.NOTE,
            about=owners_of(circuit, path),
            path=path,
            fix="other" if last.branch_type is not BranchType.MOUNT else "mount" if not proposals else "none",
            proposals=proposals,
        )
    yield from _phases(study, told)


def _insulated(study: Study, last: Branch) -> tuple[Proposal, ...]:
    """The mount that grounds it taken out, where wires beside it return what it returns."""
    if last.branch_type is not BranchType.MOUNT:
        return ()
    shell = last.a if last.a.part == last.part else last.b
    wires = plainly_listed(dict.fromkeys(f"wire {segment.wire}" for segment in study.circuit.pieces_at(shell)))
    if not wires:
        return ()
    says = f"insulate {shell.part} from {last.other_end(shell)} ({last.key}): its return is {wires}"
    return (Proposal(says, (DropLine(last.span.file, last.span.line),)),)


def _phases(study: Study, told: set[End]) -> Iterator[Finding]:
    """Phases that copper or a fuse connects to a ground, to a pole of a source or to a rectifier's output. ``told``:
    the groups of terminals of which it is known already.
    """
    joined, circuit = study.copper.fused, study.circuit
    poles = [node for supply in circuit.supplies if supply.kind != "winding" for node in (*supply.plus, supply.minus)]
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
                facts={"phase": str(node), "other": str(at), **_figures(study, [node])},
                about=(part.name, at.part),
                path=(node, at),
            )


def _figures(study: Study, ends: Collection[End]) -> dict[str, Fact]:
    """What the rectifier of a measured stator then gives, and what its leads carry; empty where it was not measured."""
    facts: dict[str, Fact] = dict.fromkeys(("machine", "amps", "whole", "lead", "usual"), "")
    network, joined = study.operation.network, study.copper.switched
    for supply in study.circuit.supplies:
        stator = network.stator(supply, frozenset()) if isinstance(network, WoundEquations) else None
        if stator is None or not any(joined.same(end, phase) for end in ends for phase in supply.phases):
            continue
        found = grounded(stator, network.regulated[supply.name])
        if found is not None:
            each = {"amps": found.amps, "whole": found.whole, "lead": found.lead, "usual": found.usual}
            facts |= {"machine": supply.name, **{name: Quantity(amps, "A") for name, amps in each.items()}}
    return facts


def _beyond_its_own(branch: Branch) -> bool:
    """Whether a winding's current can pass there without meaning to: through wires, contacts in any position and
    consumers, not through what a rectifier is made of, since that is where it is meant to go.
    """
    return branch.branch_type.as_load is Direction.BOTH


LEFT: Final = (
    "[: at running speed {machine} delivers at most {amps}, not {whole}, "
    "and a stator lead carries {lead} rms, not {usual}]"
)

RULE = Rule(
    name="grounded-winding",
    level=Level.ERROR,
    family="fire",
    stage=Stage.TOPOLOGY,
    catches="a `floating` winding with a path to ground, or a phase connected to a ground, a pole or an output",
    why="""Both ends of a stator winding that feeds a full-wave rectifier alternate against the frame. When one of
    them is grounded, even by the shell of a lamp, every second half-wave is shorted through the rectifier: the
    battery gets half its charge or less, and winding and rectifier overheat. Where no rectifier is connected to it, the
    first ground harms nothing yet, and a second one shorts the winding: a note.""",
    cautions="A winding without its lamps can reach several times its rated voltage: stop the engine before you "
    "disconnect one, and measure resistance to the frame with both its leads off.",
    source="Loomwright's analysis: every path through wires, contacts in any position and loads; for phases, "
    "through wires and fuses",
    formula="""found   where wires, closed contacts or loads connect an end of a `floating` winding to a ground
note    where no rectifier is connected to that winding
found   where wires or fuses connect a phase to a ground, to a pole of a source or to a rectifier's output""",
    says={
        "rectified": f"{{winding}} is `floating` and feeds a rectifier, and has a path to {{ground}}{LEFT}",
        "winding": "{winding} is `floating`, and has a path to {ground}",
        "phase": f"phase {{phase}} is connected to {{other}}, and a phase is connected only to its rectifier{LEFT}",
    },
    fixes={
        "none": "",
        "mount": "insulate {part} from {ground} ({last}), and run a wire from it back to {winding}",
        "other": "disconnect {last} from {ground}, and run what it returns back to {winding} by a wire",
        "phase": "connect {phase} to a phase terminal of its rectifier, and to nothing else",
    },
    find=find,
)
