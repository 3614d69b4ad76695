"""An input of a unit that its contacts can only connect to the wrong pole."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

from ....lang.circuit.branch_types import BranchType
from ....lang.circuit.ids import End
from ....lang.model.parts import Unit, UnitInput
from ....lang.search.walks import closure
from ...behaviour.dependents import engine_depends, outputs_that_ask
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study

_OPENS = (BranchType.CONTACT, BranchType.DIODE, BranchType.OUTPUT, BranchType.FLASHER, BranchType.CUT_OUT)
"""What leads on from an input, in whichever position: its lead is followed past these, copper, fuses and meters."""


def find(study: Study) -> Iterator[Finding]:
    for part in study.harness.parts.values():
        if not isinstance(part, Unit) or not part.supplies:
            continue
        for given in part.inputs:
            if given.mode in ("fed", "grounded"):
                with study.judging(part.name):
                    yield from _of_input(study, part, given)


def _of_input(study: Study, unit: Unit, given: UnitInput) -> Iterator[Finding]:
    feeds, returns = _poles(study, unit)
    right, wrong = (feeds, returns) if given.mode == "fed" else (returns, feeds)
    node = End(unit.name, given.terminal)
    plain = _led_to(study, node, right | wrong)
    if not plain & wrong or _can_be_right(study, unit, given):
        return
    # A `fed` input between a lamp and the switch that grounds it is fed through the lamp: that is a way to sense it.
    if given.mode == "fed" and _led_to(study, node, right | wrong, loads=True) & right:
        return
    outputs = outputs_that_ask(unit, given.name)
    yield RULE.found(
        given.mode,
        unit.shown_at(given.span),
        facts={
            "unit": unit.name,
            "input": given.name,
            "terminal": node,
            "pin": given.terminal,
            "outputs": tuple(output.name for output in outputs),
        },
        level=Level.ERROR if engine_depends(study.copper, unit, outputs) else Level.WARNING,
        about=(unit.name,),
    )


def _can_be_right(study: Study, unit: Unit, given: UnitInput) -> bool:
    """Whether some combination of the controls connects an input to the pole that it waits for.

    With every contact closed at once, a changeover at another input of the same feed leads to ground as well.
    """
    node, fed = End(unit.name, given.terminal), given.mode == "fed"
    behaviour = study.behaviour
    grounded = behaviour.any_of(behaviour.grounded(node), behaviour.joined(node, _return(study, unit)))
    return bool(behaviour.holds_in(behaviour.fed(node) if fed else grounded))


def _poles(study: Study, unit: Unit) -> tuple[frozenset[End], frozenset[End]]:
    """The groups of terminals that count as a feed, and as ground, for an input: by copper and fuses."""
    joined, circuit = study.copper.fused, study.circuit
    plus = [node for supply in circuit.supplies if supply.kind != "winding" for node in supply.plus]
    minus = [supply.minus for supply in circuit.supplies if supply.kind != "winding"]
    feed, back = (plus, minus) if circuit.return_sign == "-" else (minus, plus)
    grounds = frozenset(map(joined.of, (*back, _return(study, unit))))
    return frozenset(map(joined.of, feed)) - grounds, grounds


def _return(study: Study, unit: Unit) -> End:
    """The terminal by which a unit is grounded: with a positive ground the + of its supply."""
    supply = unit.supplies[0]
    return End(unit.name, supply.minus if study.circuit.return_sign == "-" else supply.plus)


def _led_to(study: Study, start: End, poles: Iterable[End], *, loads: bool = False) -> frozenset[End]:
    """The groups of terminals that something leads to from an input, not past a pole."""
    joined, stops = study.copper.fused, frozenset(poles)
    at = study.circuit.at

    def near(group: End) -> Iterator[End]:
        for node in joined.beside(group) if group not in stops else ():
            for branch in at.get(node, ()):
                if branch.branch_type in _OPENS or (loads and branch.branch_type.consumes):
                    yield joined.of(branch.other_end(node))

    return frozenset(closure([joined.of(start)], near))


_OUTPUTS: Final = "[: {outputs:output} {outputs:does|do} not work as written]"

RULE = Rule(
    name="input-kind",
    level=Level.ERROR,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    root_cause=True,
    catches="a `fed` input whose contacts connect to ground only, or a `grounded` one whose contacts connect to a "
    "feed only",
    why="""Some units sense voltage at an input, others ground. A switch of the other kind has no effect at all: the
    horn stays off, or the unit never detects that the clutch is in. Everything that depends on this input then seems to
    be broken, although each wire of it is sound.""",
    source="Loomwright's analysis: every contact on the lead of the input counts as closed, but no switch as in "
    "two positions at once",
    cautions="Do not put battery voltage on an input to try it unless its maker says that it is switched to the "
    "battery.",
    says={
        "fed": "input {input} of {unit} is active when connected to a feed, and its contacts connect {terminal} only "
        f"to ground{_OUTPUTS}",
        "grounded": "input {input} of {unit} is active when connected to ground, and its contacts connect {terminal} "
        f"only to a feed{_OUTPUTS}",
    },
    fixes={
        "fed": "look up which kind the unit has: write `input {input} grounded: {pin}`, or connect the switch at "
        "{terminal} to a feed instead of ground",
        "grounded": "look up which kind the unit has: write `input {input} fed: {pin}`, or connect the switch at "
        "{terminal} to ground instead of a feed",
    },
    find=find,
)
