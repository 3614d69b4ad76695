"""What is otherwise with a fault that nobody notices, and the ``expect`` line that would notice it.

A line is proposed only where it can be read, holds on the harness as it is, and does not hold with the fault.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from ...lang.circuit.ids import BranchId, Role
from ...lang.files.reading import read_expectation
from ...lang.model.parts import Load, Switch, Unit
from ...lang.quantities.quantity import Quantity, shown
from ...lang.records import dataclass
from ...lang.vocabulary.words import ENGINE
from ..conversion.comparison import Comparison
from ..conversion.difference import LiveChange, StateChange, compared
from ..conversion.side import Side
from ..operation.operation import Operation
from ..rules.behaviour.unmet_expectation import RULE as EXPECTED
from ..runner.run import RuleStudy, examine
from .faults import SIZES_ONLY

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ...lang.model.harness import Harness
    from ...lang.model.statements import Expectation
    from .faults import Fault

MOST_TRIED = 12
"""This many lines are tried for one fault (ours)."""


@dataclass(frozen=True, slots=True)
class Difference:
    """What is otherwise, in words, and how severe that is: 0 fire, 1 an ignition that is not stopped, 2 something that
    comes on, 3 something that fails, 4 something that gets another voltage.
    """

    says: str
    severity: int


def difference(sound: RuleStudy, study: RuleStudy, fault: Fault) -> tuple[Difference | None, str]:
    """What a fault changes between a sound harness and one with it, the most severe of it, and the line that would
    notice it; an empty one where none would.
    """
    if fault.kind in SIZES_ONLY:
        return None, ""  # what matters of a size are the limits, and the rules have asked for all of them
    comparison = Comparison(side(sound), side(study))
    found = compared(comparison, "", "")
    differs = _gravest(sound.harness, found.live, found.states)
    tried = 0
    for line in dict.fromkeys(_lines(sound.harness, found.live, found.states)):
        tried += 1
        if tried > MOST_TRIED:
            break
        try:
            expectation = read_expectation(line, sound.harness)
        except ValueError:
            continue  # a control that no text can name
        if holds(sound, expectation) and not holds(study, expectation):
            return differs, line
    return differs, ""


def side(study: RuleStudy) -> Side:
    """A harness with the analyses that there are of it, for a comparison."""
    return Side(study.harness, lambda: study.logic, lambda: study.operation)


def holds(study: RuleStudy, expectation: Expectation) -> bool:
    """Whether one expectation more would be met, and proved to be."""
    harness = replace(study.harness, expectations=(expectation,))
    asked = RuleStudy(harness, today=study.today, profile=study.profile)
    asked.__dict__["circuit"] = replace(study.circuit, harness=harness)
    asked.__dict__["logic"] = study.logic
    asked.__dict__["behaviour"] = study.behaviour
    if expectation.state is not None:
        asked.__dict__["operation"] = Operation(asked.circuit, study.logic)
    found = examine(asked, [EXPECTED])
    proofs = [claimed.proof.ended for claimed in asked.properties.claims]
    return not found and all(ended == "holds" for ended in proofs)


def _gravest(harness: Harness, live: Sequence[LiveChange], states: Sequence[StateChange]) -> Difference | None:
    found = [(_severity(harness, each), _said(each)) for each in live]
    found += [(4, _said_in(each)) for each in states]
    if not found:
        return None
    severity, says = min(found, key=lambda each: each[0])
    return Difference(says, severity)


def _severity(harness: Harness, change: LiveChange) -> int:
    if change.row in ("lost", "depends", "weakly-lost"):
        return 3
    part = harness.parts.get(getattr(change.element, "owner", ""))
    return 1 if isinstance(part, Load | Unit) and part.is_ignition else 2


def _said(change: LiveChange) -> str:
    how = {
        "lost": "is no longer live",
        "gained": "is live",
        "depends": "is not always live",
        "independent": "is always live",
        "instead": "is live under another condition",
        "weakly-lost": "gets too little through other loads",
        "weakly-gained": "gets enough through other loads",
    }[change.row]
    when = ", ".join(f"{control} {position}" for control, position in change.when)
    return f"{change.element} {how}{f' with {when}' if when else ''}"


def _said_in(change: StateChange) -> str:
    if abs(change.old_volts - change.new_volts) >= 0.005:
        was, now = (shown(Quantity(volts, "V")) for volts in (change.old_volts, change.new_volts))
    else:
        was, now = (shown(Quantity(amps, "A")) for amps in (change.old_amps, change.new_amps))
    return f"{change.element} has {now} in {change.state}, {was} without the fault"


# --- lines -----------------------------------------------------------------------------------------------------------
def _lines(harness: Harness, live: Sequence[LiveChange], states: Sequence[StateChange]) -> Iterator[str]:
    """Lines that may notice the difference, the plainest first."""
    for state in states:
        thing = _subject(harness, state.element)
        if thing is not None and isinstance(state.element, BranchId):
            for how in ("live", "dead"):
                yield f"expect in {state.state}: {thing} {how}"
    for change in sorted(live, key=lambda each: _severity(harness, each)):
        thing = _subject(harness, change.element)
        when = _when(harness, change.when)
        if thing is not None and when:
            first, second = ("live", "dead") if change.row in ("lost", "depends") else ("dead", "live")
            yield f"expect whenever {when}: {thing} {first}"
            yield f"expect whenever {when}: {thing} {second}"
    for state in states:
        thing = _subject(harness, state.element)
        if thing is None:
            continue
        for old, new, unit in ((state.old_volts, state.new_volts, "V"), (state.old_amps, state.new_amps, "A")):
            limit = _between(abs(old), abs(new), unit)
            if limit is not None:
                how = "at least" if abs(old) > abs(new) else "at most"
                yield f"expect in {state.state}: {thing} {how} {limit}"


def _between(sound: float, faulty: float, unit: str) -> str | None:
    """A quantity that parts two, nearer to the sound one; ``None`` where they are too much alike."""
    if math.isclose(sound, faulty, rel_tol=0.01, abs_tol=1e-3):
        return None
    return shown(Quantity(sound + 0.3 * (faulty - sound), unit))


def _subject(harness: Harness, element: str) -> str | None:
    """What a claim calls an element (``HEAD.dip``) or a source; ``None`` where no claim can name it."""
    if not isinstance(element, BranchId):
        return element if element in harness.parts else None
    part = harness.parts.get(element.owner)
    named = isinstance(part, Load) and any(each.name == element.detail for each in part.elements)
    return f"{element.owner}.{element.detail}" if named and element.role is Role.ELEMENT else None


def _when(harness: Harness, when: tuple[tuple[str, str], ...]) -> str:
    """A condition as the text has it: sensed quantities by a switch that senses them."""
    named = {part.control: part.name for part in harness.parts.values() if isinstance(part, Switch)}
    tests = []
    for control, position in when:
        name = control if control == ENGINE or "." in control else named.get(control)
        if name is None:
            return ""
        tests.append(f"{name} {position}")
    return " and ".join(tests)
