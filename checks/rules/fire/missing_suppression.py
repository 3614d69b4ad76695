"""A coil that nothing quiets when its current is cut off."""

from __future__ import annotations

from collections.abc import Iterator
from operator import itemgetter

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType
from ....lang.circuit.circuit import Circuit
from ....lang.circuit.graphs import Net
from ....lang.editing.proposals import Proposal
from ....lang.model.parts import Relay, Switch, UnitOutput
from ...findings.finding import Figure, Finding, Level
from ...fixes.new_parts import diode_across
from ...rule import Rule
from ...study import Study
from ...tables.relays import relay_figure

_COILS = (BranchType.COIL, BranchType.SOLENOID)
_QUIETS = (BranchType.DIODE, BranchType.RESISTOR, BranchType.CAPACITOR)
"""What quiets a coil that it lies across."""


def find(study: Study) -> Iterator[Finding]:
    circuit = study.circuit
    coils = [branch for branch in circuit.branches if branch.branch_type in _COILS]
    if not coils:
        return
    of = circuit.nets.of
    quiet = {frozenset((of[b.a], of[b.b])) for b in circuit.branches if b.branch_type in _QUIETS}
    breakers = _breakers(circuit)
    poles = {of[pole] for supply in circuit.supplies for pole in (*supply.plus, supply.minus)}
    for coil in coils:
        part = study.harness.parts[coil.part]
        ends = frozenset((of[coil.a], of[coil.b]))
        if (isinstance(part, Relay) and part.clamped) or ends in quiet:
            continue
        # An end at a pole is not cut off there: what else opens at the battery or the frame carries other currents.
        by = _strained(study, breakers, coil, ends - poles)
        if by is None:
            continue
        what, about, figures = by
        share = relay_figure("contact_share_needing_suppression")
        proposals = tuple(_quieted(study, coil))
        yield Finding(
            rule=RULE.name,
            level=Level.NOTE,
            message=f"nothing is across {coil.key}, and {what} cuts its current off",
            span=coil.span,
            about=(coil.part, about),
            figures=figures,
            source=str(share.cited) if figures else RULE.source,
            remedy=_besides(coil, isinstance(part, Relay), known=bool(proposals)),
            proposals=proposals,
        )


def _besides(coil: Branch, relay: bool, *, known: bool) -> str:
    """What there is to do besides a diode whose direction is known, or else first of all."""
    other = "or fit a relay that is clamped inside" if relay else ""
    first = f"find out which side of {coil.key} is fed: a diode belongs across it, its cathode on the + side"
    return other if known else "; ".join(said for said in (first, other) if said)


def _quieted(study: Study, coil: Branch) -> Iterator[Proposal]:
    """A diode across the coil, where only one side of it is ever fed: the wrong way round it is a short."""
    feeds = study.protection.feeds
    if (coil.a in feeds) == (coil.b in feeds):
        return
    plus, minus = (coil.a, coil.b) if coil.a in feeds else (coil.b, coil.a)
    says = f"fit a diode across {coil.key}, its cathode on {plus}"
    if fix := diode_across(study, coil.part, plus, minus, says):
        yield fix


def _breakers(circuit: Circuit) -> dict[Net, list[tuple[int, Branch]]]:
    """The outputs and contacts at each net, with their places in the order of the text."""
    found: dict[Net, list[tuple[int, Branch]]] = {}
    for place, branch in enumerate(circuit.branches):
        if branch.branch_type in (BranchType.OUTPUT, BranchType.CONTACT):
            for net in sorted({circuit.nets.of[branch.a], circuit.nets.of[branch.b]}):
                found.setdefault(net, []).append((place, branch))
    return found


def _strained(
    study: Study, breakers: dict[Net, list[tuple[int, Branch]]], coil: Branch, ends: frozenset[Net]
) -> tuple[str, str, tuple[Figure, ...]] | None:
    """What breaks the coil's current and minds: an output that is not clamped, a contact near its rating."""
    of = study.circuit.nets.of
    amps = study.operation.loading(coil.key).held.amps
    share = relay_figure("contact_share_needing_suppression").value
    for _, branch in sorted((found for net in ends for found in breakers.get(net, ())), key=itemgetter(0)):
        if isinstance(branch.item, UnitOutput):
            far = of[branch.a if branch.item.grounded else branch.b]
            if far in ends and not branch.item.clamped:
                return f"output {branch.key}", branch.part, ()
        part = study.harness.parts.get(branch.part)
        if not isinstance(part, Switch | Relay) or part.name == coil.part:
            continue
        if part.amps and amps > share * part.amps:
            figures = (Figure("coil current", amps, "A"), Figure("contact rating", part.amps, "A"))
            return f"contact {branch.key}", part.name, figures
    return None


RULE = Rule(
    name="missing-suppression",
    level=Level.NOTE,
    family="fire",
    catches="a coil on a unit's output that is not clamped, or on a contact near its rating, with nothing across it",
    why="""A coil keeps its current flowing when it is cut off: the volts rise to hundreds until something gives. A
    transistor breaks down, a contact burns a little more each time, and the spike visits every other part of the
    harness. A diode the wrong way round is a dead short instead, and is found as one.""",
    source="common practice, no source",
    formula="""found where a coil hangs on an output that is not clamped,
         or carries > 50 % of the rating of a contact that cuts it off,
  and    no diode, resistor or capacitor is across it""",
    cautions="A coil switched off by hand gives its kick to the hand: keep off bare terminals.",
    find=find,
)
