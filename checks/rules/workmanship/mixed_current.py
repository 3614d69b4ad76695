"""Something made for direct current on a winding that gives alternating current."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import permutations

from ....lang.circuit.branch import Branch, Supply
from ....lang.circuit.branch_types import Law, Way
from ...behaviour import AllOf, AnyOf, Joined, Linked, Question
from ...findings.finding import Finding, Level
from ...logic import Conduction
from ...logic.counterexample import found
from ...rule import Rule
from ...study import Examination

MADE_FOR_DIRECT = (Law.COIL, Law.SUPPLY, Law.ELECTRONICS)
"""Elements that alternating current does not suit; a relay chatters on it. LEDs are led-on-winding's."""


def find(examination: Examination) -> Iterator[Finding]:
    windings = [supply for supply in examination.circuit.supplies if supply.kind == "winding"]
    if not windings:
        return
    # Past a rectifier or a diode it is no longer alternating: those are left out.
    one_way = [b.key for b in examination.circuit.branches if b.law.joined is Way.FORWARD]
    conduction = examination.conduction.without(one_way)
    for branch in examination.circuit.branches:
        if branch.law in MADE_FOR_DIRECT:
            yield from _told(conduction, Joined(branch.key, frozenset({"winding"})), branch, branch.law.title)
        elif branch.law is Law.FLASHER:
            met = AnyOf(tuple(Linked(node, branch.a) for node in _hot(conduction, windings)))
            yield from _told(conduction, met, branch, "flasher")
    for supply in examination.circuit.supplies:
        if supply.kind == "battery":
            yield from _battery(conduction, windings, supply)


def _told(conduction: Conduction, question: Question, branch: Branch, what: str) -> Iterator[Finding]:
    scope = conduction.scope(question)
    shown = conduction.show(scope, question.table(scope) & scope.counted)
    if shown is None:
        return
    yield found(
        RULE.name,
        RULE.level,
        f"{branch.key} ({what}) is connected to a winding that supplies alternating current",
        branch.span,
        about=(branch.part,),
        shown=shown,
        path=conduction.loop(shown, branch),
        source=RULE.source,
        remedy=f"feed {branch.key} from behind a rectifier",
    )


def _hot(conduction: Conduction, windings: list[Supply]) -> list[str]:
    """The terminals of windings that are not the ground of everything else."""
    network = conduction.network
    grounds = {network.net(s.minus) for s in conduction.circuit.supplies if s.kind != "winding"}
    ends = [node for supply in windings for node in (*supply.plus, supply.minus)]
    shared = grounds or {network.net(supply.minus) for supply in windings}
    return [node for node in ends if network.net(node) not in shared]


def _battery(conduction: Conduction, windings: list[Supply], battery: Supply) -> Iterator[Finding]:
    """A battery is harmed where a winding's current gets through it in both directions: past a diode it cannot, and
    those are left out.
    """
    plus, minus = battery.plus[0], battery.minus
    for winding in windings:
        ends = (*winding.plus, winding.minus)
        across = AnyOf(tuple(AllOf((Linked(one, plus), Linked(minus, other))) for one, other in permutations(ends, 2)))
        scope = conduction.scope(across)
        shown = conduction.show(scope, across.table(scope) & scope.counted)
        if shown is None:
            continue
        yield found(
            RULE.name,
            RULE.level,
            f"{winding.name} gives alternating current to {battery.name}",
            winding.span,
            about=(winding.name.partition(".")[0], battery.name),
            shown=shown,
            source=RULE.source,
            remedy=f"fit a rectifier between {winding.name} and {battery.name}",
        )


RULE = Rule(
    name="mixed-current",
    level=Level.ERROR,
    family="workmanship",
    catches="an alternating winding joined to a battery, relay, flasher, unit or electronics",
    why="""A winding that is not behind a rectifier gives alternating current. A battery on it is overcharged and
    drained a hundred times a second and gasses, a relay buzzes
    until its contacts weld, and a control unit does not survive it.""",
    source="ours: every combination of the controls is gone through",
    find=find,
)
