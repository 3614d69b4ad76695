"""The elements that two harnesses both have, whether their parts are kept or replaced."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...lang.model.parts import Element
from ..logic.predicates import JoinedInSeries

if TYPE_CHECKING:
    from ..behaviour import Question
    from .comparison import Comparison
    from .side import Side


def elements(comparison: Comparison) -> Iterator[tuple[str, str]]:
    """The consumers that both harnesses have, by their keys in the old and in the new one, as the new text has them.

    What is made to be in series with others (a resistor, a field) is left out: it does nothing by itself.
    """
    old, new = comparison.old.circuit, comparison.new.circuit
    for branch in new.branches:
        if branch.branch_type.consumes and not branch.branch_type.in_series and branch.part:
            before = comparison.match.old_of.get(branch.part)
            if before is not None and (key := branch.key.of(before)) in old.by_key:
                yield key, branch.key


def element_question(side: Side, key: str) -> Question:
    """Whether an element is live, as far as joined paths and what is in series decide; of a tell-tale, which can be
    in series with anything, by joined paths alone: its volts in the named states tell the rest.
    """
    item = side.circuit.by_key[key].item
    tells = isinstance(item, Element) and "tell-tale" in item.roles
    return JoinedInSeries(key, graph="nets") if tells else JoinedInSeries(key)
