"""Two windings of one alternator whose leads are swapped."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.branch import Branch
from ....lang.editing.proposals import Proposal, SwapEnds
from ....lang.quantities.quantity import Quantity
from ...behaviour.lamps_on_windings import exchanged, too_large
from ...findings.finding import Figure, Finding, Level, Stage
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    for fed in too_large(study.copper):
        other = exchanged(study.copper, fed)
        if other is None:
            continue
        yield RULE.found(
            "exchanged",
            fed.winding.span,
            facts={
                "winding": fed.winding.key,
                "other": other.key,
                "lamp": fed.lamp.key,
                "load": Quantity(fed.watts, "W"),
                "output": Quantity(fed.gives, "W"),
            },
            about=(fed.winding.part, fed.lamp.part),
            figures=(Figure("lamp", fed.watts, "W"), Figure("winding", fed.gives, "W")),
            proposals=(_exchanged(study, fed.winding, other),),
        )


def _exchanged(study: Study, one: Branch, other: Branch) -> Proposal:
    """The leads of two windings exchanged, those at a terminal that both share left where they are."""
    pairs = [(a, b) for a, b in ((one.a, other.a), (one.b, other.b)) if a != b]
    wired = [pair for pair in pairs if any(study.circuit.at.get(node, ()) for node in pair)]
    return Proposal(f"swap the leads of {one.key} and {other.key}", tuple(SwapEnds(a, b) for a, b in wired))


RULE = Rule(
    name="exchanged-windings",
    level=Level.ERROR,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    catches="a lamp too large for its winding, while a larger winding of the same alternator feeds no lamp",
    why="""The leads of the exciter winding and of the lighting winding leave the engine through one hole, and after
    forty years in one colour. Swapped, the lamps glow dimly on the small winding, and the ignition box is fed by the
    large one at the wrong voltage: there is no spark at cranking speed, or the box is destroyed.""",
    source="Loomwright's limit: 1.5 times the rated watts of the winding, as for winding-too-weak",
    formula="found where P(lamp) > 1.5 P(its winding), and P(lamp) <= 1.5 P(another that is wired and feeds no lamp)",
    cautions="An exciter winding gives several hundred volts: do not touch its leads while the engine turns.",
    says={
        "exchanged": "{winding} and {other} are swapped: {lamp} ({load}) is connected to {winding} ({output}), and "
        "{other} feeds no lamp"
    },
    find=find,
)
