"""Facts: what a finding knows, as data with a name each. Words are made of them in ``wording``, and nowhere else."""

from __future__ import annotations

from collections.abc import Mapping

from ...lang.quantities.quantity import Quantity

Fact = str | Quantity | tuple[str, ...]
"""A name or a word as the text has it; a quantity with its unit; several names."""

Facts = tuple[tuple[str, Fact], ...]
"""Facts by name, in the order of their names."""


Rank = tuple[str, int, tuple[str, ...], float]
"""A fact by which facts are put in order, of whatever kind they are."""


def in_order(facts: Facts) -> tuple[Rank, ...]:
    """Facts so that those of any two findings can be compared."""
    return tuple(_rank(name, fact) for name, fact in facts)


def _rank(name: str, fact: Fact) -> Rank:
    if isinstance(fact, Quantity):
        return (name, 0, (fact.unit,), fact.value)
    return (name, 1, (fact,), 0.0) if isinstance(fact, str) else (name, 2, fact, 0.0)


def as_facts(facts: Mapping[str, Fact | float]) -> Facts:
    """Facts in the order of their names, so that equal ones are equal. A plain number is a quantity without a unit."""
    return tuple(
        (name, Quantity(float(fact)) if isinstance(fact, int | float) else fact) for name, fact in sorted(facts.items())
    )
