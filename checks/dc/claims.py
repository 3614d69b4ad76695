"""What an `expect` says in numbers: volts, amps and watts in a named state, and `live` where joined is not enough."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from .elements import UnsolvableError
from .standing import standing

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ...lang.circuit import Branch
    from ...lang.model import Claim, Expectation
    from .operating import Operation, Point

NOTHING = 1e-7
"""V, A or W below which a solved figure is what is left of a 0 (ours)."""

SLACK = 1e-9
"""Of a value, what rounding may take away."""


@dataclass(frozen=True, slots=True)
class Told:
    """How a claim stands: what was ``found`` in its own unit, and what was ``wanted``.

    ``how``: ``unmet``; ``starved``: joined, but it gets too little to be live; ``unknown``: it cannot be told, and
    ``why``. Claims that hold are not told of.
    """

    expectation: Expectation
    claim: Claim
    how: Literal["unmet", "starved", "unknown"]
    found: float = 0.0
    wanted: float = 0.0
    unit: str = ""
    why: str = ""


def told(operation: Operation) -> Iterator[Told]:
    """Every claim of numbers that does not hold or cannot be told, in the order of the text."""
    for expectation in operation.circuit.harness.expectations:
        if expectation.state is None:
            continue
        point: Point | UnsolvableError | None = None
        for claim in expectation.claims:
            if claim.how == "dead":
                continue
            if point is None:
                point = _point(operation, expectation)
            found = _tell(expectation, claim, point, operation.alternating)
            if found is not None:
                yield found


def _point(operation: Operation, expectation: Expectation) -> Point | UnsolvableError:
    state = expectation.state or ""
    try:
        whole = operation.state(state)
        if not expectation.without:
            return whole
        return operation.without(expectation.without).at(
            whole.positions, whole.memory, state=state, pinned=whole.pinned
        )
    except UnsolvableError as error:
        return error


def _tell(
    expectation: Expectation, claim: Claim, point: Point | UnsolvableError, alternating: tuple[str, ...]
) -> Told | None:
    if isinstance(point, UnsolvableError):
        return None if claim.how == "live" else Told(expectation, claim, "unknown", why=str(point))
    circuit = point.circuit
    supply = next((s for s in circuit.supplies if s.name == claim.part), None)
    branch = circuit.element_branch(claim.part, claim.element)
    if claim.how == "live":
        return _starved(expectation, claim, point)
    if branch is None and supply is None:
        if claim.part in circuit.removed:
            return _compared(expectation, claim, 0.0)
        return Told(expectation, claim, "unknown", why=f"{claim.part} has no current of its own")
    if branch is not None and branch.key in alternating:
        return Told(expectation, claim, "unknown", why=f"{branch.key} has alternating current, which is not solved")
    if branch is not None:
        rating = point.flow.network.rated[branch.key]
        if rating.ohms is None and rating.curve is None and rating.amps != 0.0 and claim.unit != "V":
            return Told(expectation, claim, "unknown", why=f"{branch.key} has no rating")
    key = branch.key if branch is not None else claim.part
    value = {"V": point.across, "A": point.amps, "W": point.watts}[claim.unit or "V"](key)
    return _compared(expectation, claim, abs(value) if branch is not None else value)


def _compared(expectation: Expectation, claim: Claim, found: float) -> Told | None:
    wanted = claim.value or 0.0
    found = 0.0 if abs(found) < NOTHING else found
    slack = SLACK * max(abs(wanted), 1.0)
    holds = found >= wanted - slack if claim.how == "at least" else found <= wanted + slack
    return None if holds else Told(expectation, claim, "unmet", found, wanted, claim.unit or "V")


def _starved(expectation: Expectation, claim: Claim, point: Point) -> Told | None:
    """A claim of ``live`` whose elements are joined and get too little, all of them."""
    inside = point.circuit.of_part.get(claim.part, ())
    one = point.circuit.element_branch(claim.part, claim.element) if claim.element else None
    asked: list[Branch] = [one] if one is not None else [b for b in inside if b.law.consumes]
    joined = [b for b in asked if point.joins.joined(b.key, series=True)]
    stands = [standing(point, b.key) for b in joined]
    if not stands or any(s is None or s.word == "live" for s in stands):
        return None
    best = max((s for s in stands if s is not None), key=lambda s: s.share / s.works)
    return Told(expectation, claim, "starved", best.share * 100.0, best.works * 100.0, f"% of {best.of}")
