"""What an `expect` says in numbers: volts, amps and watts in a named state, and `live` where joined is not enough."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Literal

from ...lang.circuit.ids import End
from ...lang.model.parts import Load, Unit
from ...lang.quantities.ranking import largest
from ...lang.records import dataclass
from ..dc.devices import UnsolvableError
from ..dc.solved import is_stopped
from .load_status import load_status
from .stop_paths import RUNS_ON, STOPPED, StopPath, stop_path

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from ...lang.circuit.branch import Branch
    from ...lang.diagnostics.diagnostic import Span
    from ...lang.model.statements import Claim, Expectation
    from .operation import OperatingPoint, Operation

NOTHING = 1e-7
"""V, A or W below which a solved figure is what is left of a 0 (ours)."""

SLACK = 1e-9
"""Of a value, what rounding may take away."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """The verdict on a claim: what was ``found`` in its own unit, and what was ``wanted``; percentages are ``of``
    nominal volts or rated amps.

    ``how``: ``unmet``; ``starved``: joined, but it gets too little to be live; ``alive``: it gets too much to be dead;
    ``unstopped``: its kill wire leaves it too much of its volts to be stopped, ``choked``: too few to fire;
    ``unknown``: it is not known, and ``why``, ``unrated`` where only a rating is missing. ``history``: how relays and
    machines were left for it, empty from rest.
    Claims that hold are left out.
    """

    expectation: Expectation
    claim: Claim
    how: Literal["unmet", "starved", "alive", "unstopped", "choked", "unknown"]
    found: float = 0.0
    wanted: float = 0.0
    unit: str = ""
    of: str = ""
    why: str = ""
    unrated: bool = False
    history: str = ""


def verdicts(
    operation: Operation, expectations: Iterable[Expectation], at: Callable[[Span], bool] = lambda _: True
) -> Iterator[Verdict]:
    """Every claim of numbers among some expectations that does not hold or cannot be known, in their order: those
    ``at`` the places that are asked of.

    A claim must hold however relays and machines were left; the first history that breaks it is reported.
    """
    from ..behaviour import ImpossibleStateError

    for expectation in expectations:
        claims = [claim for claim in expectation.claims if at(claim.span)]
        if expectation.state is None or not claims:
            continue
        points = _points(operation, expectation)
        if isinstance(points, ImpossibleStateError):
            continue  # said once, at the state (impossible-state)
        for claim in claims:
            if isinstance(points, UnsolvableError):
                found = _judged(expectation, claim, points, ())
            else:
                each = (
                    _judged(expectation, claim, point, operation.on_windings.untold(point), points[0])
                    for point in points
                )
                found = next((one for one in each if one is not None), None)
            if found is not None:
                yield found


def _points(operation: Operation, expectation: Expectation) -> tuple[OperatingPoint, ...] | UnsolvableError:
    """A state from rest, then as it is where relays and machines were left otherwise."""
    state = expectation.state or ""
    try:
        wholes = (operation.state(state), *operation.left_before.others(state))
        if not expectation.without:
            return wholes
        left = operation.without(expectation.without)
        return tuple(left.at(whole.positions, whole.memory, state=state, pinned=whole.pinned) for whole in wholes)
    except UnsolvableError as error:
        return error


def _judged(
    expectation: Expectation,
    claim: Claim,
    point: OperatingPoint | UnsolvableError,
    alternating: tuple[str, ...],
    first: OperatingPoint | None = None,
) -> Verdict | None:
    if isinstance(point, UnsolvableError):
        return None if claim.how in ("live", "dead") else Verdict(expectation, claim, "unknown", why=str(point))
    found = _judged_at(expectation, claim, point, alternating)
    if found is None or first is None or point is first:
        return found
    from ..behaviour.histories import said

    return replace(found, history=said(first.memory, point.memory))


def _judged_at(
    expectation: Expectation, claim: Claim, point: OperatingPoint, alternating: tuple[str, ...]
) -> Verdict | None:
    circuit = point.circuit
    supply = next((s for s in circuit.supplies if s.name == claim.part), None)
    branch = circuit.element_branch(claim.part, claim.element)
    if claim.how == "live":
        return _starved(expectation, claim, point, alternating)
    if claim.how == "dead":
        return _alive(expectation, claim, point)
    if branch is None and supply is None:
        if claim.part in circuit.removed:
            return _compared(expectation, claim, 0.0)
        return Verdict(expectation, claim, "unknown", why=f"{claim.part} carries no current by itself")
    if branch is not None and branch.key in alternating:
        left_out = "; ".join(dict.fromkeys(each.why for each in point.flow.left_out))
        return Verdict(expectation, claim, "unknown", why=f"{branch.key} has alternating current, and {left_out}")
    if branch is not None:
        rating = point.flow.network.rated[branch.key]
        if rating.ohms is None and rating.curve is None and rating.amps != 0.0 and claim.unit != "V":
            return Verdict(expectation, claim, "unknown", why=f"{branch.key} has no rating", unrated=True)
    key = branch.key if branch is not None else claim.part
    value = {"V": point.across, "A": point.amps, "W": point.watts}[claim.unit or "V"](key)
    return _compared(expectation, claim, abs(value) if branch is not None else value)


def _compared(expectation: Expectation, claim: Claim, found: float) -> Verdict | None:
    wanted = claim.value or 0.0
    found = 0.0 if abs(found) < NOTHING else found
    slack = SLACK * max(abs(wanted), 1.0)
    holds = found >= wanted - slack if claim.how == "at least" else found <= wanted + slack
    return None if holds else Verdict(expectation, claim, "unmet", found, wanted, claim.unit or "V")


def _claimed(claim: Claim, point: OperatingPoint) -> list[Branch]:
    """The elements that a claim is about."""
    one = point.circuit.element_branch(claim.part, claim.element) if claim.element else None
    return (
        [one] if one is not None else [b for b in point.circuit.of_part.get(claim.part, ()) if b.branch_type.consumes]
    )


def _starved(
    expectation: Expectation, claim: Claim, point: OperatingPoint, alternating: tuple[str, ...]
) -> Verdict | None:
    """A claim of ``live`` whose elements are joined, or reached through loads, and get too little, all of them; or
    whose kill wire leaves too little of its volts, through a cold lamp or a leak. What a winding of unknown figures
    gives to one, those in ``alternating``, no number tells.
    """
    path = _stop_path(claim, point)
    if path is not None and path.share <= RUNS_ON:
        return Verdict(expectation, claim, "choked", path.share * 100.0, RUNS_ON * 100.0, "%")
    asked = _claimed(claim, point)
    joined = [b for b in asked if point.connectivity.joined(b.key, series=True)]
    stands = [load_status(point, b.key) if b.key not in alternating else None for b in joined or asked]
    if not stands or any(s is None or s.word == "live" for s in stands):
        return None
    best = largest((s for s in stands if s is not None), key=lambda s: s.share / s.works)
    return Verdict(expectation, claim, "starved", best.share * 100.0, best.works * 100.0, "%", best.of)


def _stop_path(claim: Claim, point: OperatingPoint) -> StopPath | None:
    """What leads the kill wire of the ignition part that a claim is about to its return; ``None``: nothing does."""
    return stop_path(point.flow, point.circuit.harness.parts.get(claim.part)) if claim.element is None else None


def _alive(expectation: Expectation, claim: Claim, point: OperatingPoint) -> Verdict | None:
    """A claim of ``dead`` of which an element gets its dead share or more; a grounded kill wire makes it dead."""
    part = point.circuit.harness.parts.get(claim.part)
    if claim.element is None and isinstance(part, Load | Unit) and part.is_ignition:
        if isinstance(part, Unit) and part.outputs:
            return None  # its outputs are asked what it fires, and logic tells how these are
        if part.stop_lead:
            lead, back = (End(part.name, terminal) for terminal in part.stop_lead)
            if is_stopped(point.flow, part, lead, back):
                path = _stop_path(claim, point)
                if path is None or path.at_most or path.word == "stopped":
                    return None
                return Verdict(expectation, claim, "unstopped", path.share * 100.0, STOPPED * 100.0, "%")
    stands = [s for b in _claimed(claim, point) if (s := load_status(point, b.key)) is not None]
    most = largest(stands, key=lambda s: s.share / s.dead if s.dead else s.share, default=None)
    if most is None or most.word == "dead":
        return None
    return Verdict(expectation, claim, "alive", most.share * 100.0, most.dead * 100.0, "%", most.of)
