"""Facts: what a finding knows, as data with a name each. Words are made of them in ``wording``, and nowhere else."""

from __future__ import annotations

from collections.abc import Mapping

from ...lang.quantities.quantity import Quantity

Fact = str | Quantity | tuple[str, ...]
"""A name or a word as the text has it; a quantity with its unit; several names."""

Facts = tuple[tuple[str, Fact], ...]
"""Facts by name, in the order of their names."""


def as_facts(facts: Mapping[str, Fact | float]) -> Facts:
    """Facts in the order of their names, so that equal ones are equal. A plain number is a quantity without a unit."""
    return tuple(
        (name, Quantity(float(fact)) if isinstance(fact, int | float) else fact) for name, fact in sorted(facts.items())
    )
