"""An LED tell-tale that glows though it is off."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType
from ....lang.circuit.ids import End
from ....lang.model.parts import Element, UnitOutput
from ...behaviour import TooWideError, too_wide
from ...findings.finding import Figure, Finding, Level
from ...rule import Rule
from ...study import Study
from ...tables.workmanship import workmanship


def find(study: Study) -> Iterator[Finding]:
    for branch in study.circuit.branches:
        if _shows(branch):
            yield from _by_an_output(study, branch)
            yield from _through_another_load(study, branch)


def _shows(branch: Branch) -> bool:
    """Whether an element is an LED that tells the rider something."""
    return (
        branch.branch_type is BranchType.LED and isinstance(branch.item, Element) and "tell-tale" in branch.item.roles
    )


def _by_an_output(study: Study, led: Branch) -> Iterator[Finding]:
    """A solid-state output made for amps leaks, and may test its wire by pulses: with LEDs alone on it, these glow."""
    circuit, of = study.circuit, study.circuit.nets.of
    least = workmanship("leaking_output_amps").value
    for output in circuit.branches:
        item = output.item
        if (
            output.branch_type is not BranchType.OUTPUT
            or not isinstance(item, UnitOutput)
            or (item.amps or 0.0) < least
        ):
            continue
        net = of[End(output.part, item.terminal)]
        if net not in (of[led.a], of[led.b]):
            continue
        # Whatever else is there takes the trickle: a filament, a coil, the driver of a larger LED lamp.
        if any(b.branch_type.consumes and not _shows(b) and net in (of[b.a], of[b.b]) for b in circuit.branches):
            continue
        yield RULE.found(
            "output",
            led.span,
            facts={"led": led.key, "output": output.key, "terminal": led.a if of[led.a] == net else led.b},
            about=(led.part, output.part),
            figures=(Figure("rating of the output", item.amps or 0.0, "A"),),
        )


def _through_another_load(study: Study, led: Branch) -> Iterator[Finding]:
    """It has a feed and a separate return, and with one of them open a trickle comes through something else."""
    behaviour = study.behaviour
    connected, reached = behaviour.connected(led.key), behaviour.reached_through_loads(led.key)
    try:
        space = behaviour.space(connected, reached)
    except TooWideError as too_many:
        yield _not_searched(led, too_wide(too_many))
        return
    plain = space.where(connected)
    if not plain & space.possible:
        return  # it is made to work through others, as one pilot lamp for both sides is
    shown = ((space.where(reached) - plain) & space.possible & space.plausible).shown()
    if shown is None:
        return
    path = behaviour.loop(shown, led, graph="wide")
    others = {key: b for key, b in behaviour.circuit.by_key.items() if b.branch_type.consumes and key != led.key}
    through = [key for key in path if key in others]
    if not through or any(others[key].branch_type.in_series for key in through):
        return  # a resistor or a field is put in a row with it on purpose
    yield RULE.found(
        "through",
        led.span,
        facts={"led": led.key, "loads": tuple(through)},
        about=(led.part, *(others[key].part for key in through)),
        shown=shown,
        path=path,
    )


def _not_searched(led: Branch, why: str) -> Finding:
    return RULE.found(
        "not-searched",
        led.span,
        facts={"led": led.key, "why": why},
        outcome="not-checked",
        about=(led.part,),
        source="Loomwright's limit: up to 2^22 combinations a question (device_constants.toml)",
    )


RULE = Rule(
    name="lamp-leak",
    level=Level.NOTE,
    family="behaviour",
    catches="an LED tell-tale that glows by leakage, test pulses or backfeed through another load",
    why="""A filament glows visibly from a tenth of an ampere, an LED from a thousandth. The leakage of a solid-state
    output, the pulses by which it tests its wire, and the trickle through a relay's coil light an LED in the dark, and
    the rider reads a warning that is false.""",
    source="common practice, no source; the rating above which an output is judged: Loomwright's limit",
    formula="""found where a unit's output of 1 A or more feeds LED tell-tales alone,
       or an LED tell-tale that has a straight path in some combination has, in another, one through other loads""",
    cautions="Fit a resistor rated for its power at the full voltage of the output, and fuse the meter's lead.",
    says={
        "output": "{led} (LED) is the only load on output {output}: leakage or test pulses of the output can make it "
        "glow while the output is off",
        "through": "{led} (LED) glows by backfeed through {loads}",
        "not-searched": "{led} (LED) was not searched for backfeed through other loads: {why}",
    },
    fixes={
        "output": "measure the voltage at {terminal} with {output} off; if {led} glows, fit a resistor of 1 kohm in "
        "parallel with it",
        "through": "isolate {led} from {loads} with a diode, or fit a filament lamp in its place",
        "not-searched": "look at {led} with its own feed off, or feed it by separate wires",
    },
    find=find,
)
