"""A coil without suppression, on an output or a contact that it can damage."""

from __future__ import annotations

from collections.abc import Iterator
from operator import itemgetter

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType
from ....lang.circuit.circuit import Circuit
from ....lang.circuit.graphs import Net
from ....lang.editing.proposals import Proposal
from ....lang.model.parts import Relay, Switch, UnitOutput
from ....lang.quantities.quantity import Quantity
from ....lang.records import dataclass
from ...findings.finding import Figure, Finding, Level
from ...fixes.new_parts import diode_across
from ...rule import Rule
from ...study import Study
from ...tables.relays import relay_figure

_COILS = (BranchType.COIL, BranchType.SOLENOID)
_QUIETS = (BranchType.DIODE, BranchType.RESISTOR, BranchType.CAPACITOR)
"""What suppresses the voltage of a coil that it is connected across."""


@dataclass(frozen=True, slots=True)
class _Breaker:
    """What switches a coil off: an output of a unit, or a contact with the coil's A and its own rating in A."""

    branch: Branch
    amps: float = 0.0
    rating: float = 0.0


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
        share = relay_figure("contact_share_needing_suppression")
        figures = (Figure("coil current", by.amps, "A"), Figure("contact rating", by.rating, "A"))
        proposals = tuple(_quieted(study, coil))
        yield RULE.found(
            "contact" if by.rating else "output",
            coil.span,
            facts={
                "coil": coil.key,
                "breaker": by.branch.key.first,
                "current": Quantity(by.amps, "A"),
                "rating": Quantity(by.rating, "A"),
                "relay": coil.part if isinstance(part, Relay) else "",
            },
            about=(coil.part, by.branch.part),
            figures=figures if by.rating else (),
            source=str(share.cited) if by.rating else RULE.source,
            fix="diode" if proposals else "side",
            proposals=proposals,
        )


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
) -> _Breaker | None:
    """What switches the coil off and is damaged by it: an output that is not clamped, a contact near its rating."""
    of = study.circuit.nets.of
    amps = study.operation.loading(coil.key).held.amps
    share = relay_figure("contact_share_needing_suppression").value
    for _, branch in sorted((found for net in ends for found in breakers.get(net, ())), key=itemgetter(0)):
        if isinstance(branch.item, UnitOutput):
            far = of[branch.a if branch.item.grounded else branch.b]
            if far in ends and not branch.item.clamped:
                return _Breaker(branch)
        part = study.harness.parts.get(branch.part)
        if not isinstance(part, Switch | Relay) or part.name == coil.part:
            continue
        if part.amps and amps > share * part.amps:
            return _Breaker(branch, amps, part.amps)
    return None


RULE = Rule(
    name="missing-suppression",
    level=Level.NOTE,
    family="fire",
    catches="a coil without suppression, switched by an output that is not clamped or by a contact near its rating",
    why="""When its current is cut off, a coil raises the voltage to hundreds of volts until something breaks down: a
    transistor fails, a contact burns a little more each time, and the spike reaches every other part of the harness.
    A diode the wrong way round is a dead short instead; the rule dead-short reports that.""",
    source="common practice, no source",
    formula="""found where a coil is connected to an output that is not clamped,
         or carries > 50 % of the rating of a contact that switches it off,
  and    no diode, resistor or capacitor is across it""",
    cautions="A coil that is disconnected by hand can give you a shock: keep off bare terminals.",
    says={
        "output": "{coil} has no suppression, and output {breaker}, which is not clamped, switches it off",
        "contact": "{coil} has no suppression, and contact {breaker} switches it off at {current}, rated {rating}",
    },
    fixes={
        "diode": "[or fit a relay with a clamped coil in place of {relay}]",
        "side": "find out which side of {coil} is fed, and fit a diode across it, cathode on the + side"
        "[; or fit a relay with a clamped coil in place of {relay}]",
    },
    find=find,
)
