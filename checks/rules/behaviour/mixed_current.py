"""Something made for direct current on a winding that supplies alternating current."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import permutations

from ....lang.circuit.branch import Branch, Supply
from ....lang.circuit.branch_types import BranchType, Direction
from ....lang.quantities.quantity import Quantity
from ...behaviour import Behaviour, Question
from ...findings.finding import Figure, Finding, Level, Stage
from ...rule import Rule
from ...study import Study

MADE_FOR_DIRECT = (BranchType.COIL, BranchType.SUPPLY, BranchType.ELECTRONICS)
"""Elements that alternating current does not suit; a relay chatters on it. LEDs are led-on-winding's."""

BOTH_WAYS = 0.1
"""Of the volts that it is made for, from which alternating current is no mere drop in a shared wire (ours)."""


def find(study: Study) -> Iterator[Finding]:
    windings = [supply for supply in study.circuit.supplies if supply.kind == "winding"]
    if not windings:
        return
    # Past a rectifier or a diode it is no longer alternating: those are left out.
    one_way = [b.key for b in study.circuit.branches if b.branch_type.joined is Direction.FORWARD]
    behaviour = study.behaviour.without(one_way)
    for branch in study.circuit.branches:
        with study.judging(branch.part):
            if branch.branch_type in MADE_FOR_DIRECT:
                met = behaviour.connected(branch.key, frozenset({"winding"}))
                found = tuple(_connected(behaviour, met, branch, branch.branch_type.title))
                yield from found or _alternating(study, branch)
            elif branch.branch_type is BranchType.FLASHER:
                met = behaviour.any_of(*(behaviour.joined(node, branch.a) for node in _hot(behaviour, windings)))
                yield from _connected(behaviour, met, branch, "flasher")
    for supply in study.circuit.supplies:
        if supply.kind == "battery":
            with study.judging(supply.name):
                yield from _battery(behaviour, windings, supply)


def _alternating(study: Study, branch: Branch) -> Iterator[Finding]:
    """What a winding drives both ways in a solved state, by whatever way: through a lamp, or by a shared return."""
    limit = BOTH_WAYS * branch.made_for(study.harness.volts)
    each = ((min(point.flow.peaks(branch)), point) for point in study.operation.loaded_points)
    volts, worst = max(each, key=lambda pair: pair[0], default=(0.0, None))
    if worst is not None and volts > limit:
        yield RULE.found(
            "both-ways",
            branch.span,
            facts={
                "load": branch.key,
                "kind": branch.branch_type.title,
                "voltage": Quantity(volts, "V"),
                "with": tuple(f"{name} {at}" for name, at in worst.differing),
            },
            about=(branch.part,),
            state=worst.state,
            figures=(Figure("both ways", volts, "V"), Figure("allowed", limit, "V")),
        )


def _connected(behaviour: Behaviour, question: Question, branch: Branch, what: str) -> Iterator[Finding]:
    shown = behaviour.may(question)
    if shown is None:
        return
    yield RULE.found(
        "load",
        branch.span,
        facts={"load": branch.key, "kind": what},
        about=(branch.part,),
        shown=shown,
        path=behaviour.loop(shown, branch),
    )


def _hot(behaviour: Behaviour, windings: list[Supply]) -> list[str]:
    """The terminals of windings that are not the ground of everything else."""
    network = behaviour.network
    grounds = {network.net(s.minus) for s in behaviour.circuit.supplies if s.kind != "winding"}
    ends = [node for supply in windings for node in (*supply.plus, supply.minus)]
    shared = grounds or {network.net(supply.minus) for supply in windings}
    return [node for node in ends if network.net(node) not in shared]


def _battery(behaviour: Behaviour, windings: list[Supply], battery: Supply) -> Iterator[Finding]:
    """A battery is harmed where a winding's current gets through it in both directions: past a diode it cannot, and
    those are left out.
    """
    plus, minus = battery.plus[0], battery.minus
    for winding in windings:
        ends = (*winding.plus, winding.minus)
        across = (
            behaviour.all_of(behaviour.joined(one, plus), behaviour.joined(minus, other))
            for one, other in permutations(ends, 2)
        )
        shown = behaviour.may(behaviour.any_of(*across))
        if shown is None:
            continue
        yield RULE.found(
            "battery",
            winding.span,
            facts={"winding": winding.name, "battery": battery.name},
            about=(winding.part, battery.name),
            shown=shown,
        )


RULE = Rule(
    name="mixed-current",
    level=Level.ERROR,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    catches="an alternating winding connected to a battery, relay, flasher, unit or electronics",
    why="""A winding that is not behind a rectifier supplies alternating current. A battery on it is charged and
    discharged many times a second and gasses, a relay chatters until its contacts weld, and a control unit is
    destroyed.""",
    source="Loomwright's analysis: every combination of the controls",
    formula="found   where contacts connect a load for direct current to both ends of a winding, or where it gets "
    "more than 0.1 times its rated voltage both ways in a solved state",
    cautions="A battery that gasses gives off explosive gas and acid: stop the engine and let it cool before you work "
    "on it. A winding without its lamps can reach several times its rated voltage.",
    says={
        "load": "{load} ({kind}) is connected to a winding that supplies alternating current",
        "both-ways": "{load} ({kind}) gets alternating current from a winding, {voltage} both ways ({with...})",
        "battery": "{winding} supplies alternating current to {battery}",
    },
    fixes={
        "load": "feed {load} with direct current from the battery, or from a rectifier with a regulator; a rectifier "
        "without one passes several times the rated voltage",
        "both-ways": "find the way from the winding to {load}, through a lamp or a shared return, and feed {load} with "
        "direct current alone",
        "battery": "fit a rectifier with a regulator between {winding} and {battery}, and a fuse at {battery}",
    },
    find=find,
)
