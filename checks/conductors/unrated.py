"""Consumers that the text gives no figures of, and the wires whose current is therefore not known."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import Direction
from ...lang.search.blocks import between

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from ..operation.operation import Operation
    from ..protection.protection import Protection


def unrated(operation: Operation) -> Iterator[tuple[Branch, str]]:
    """The consumers that have no numbers, each with what is not written."""
    left_out = {(each.owner, each.what) for each in operation.missing if not each.instead}
    for branch in operation.circuit.branches:
        if branch.branch_type.consumes:
            for owner, what in sorted(left_out):
                if owner in (branch.key, branch.part):
                    yield branch, what


def wires_to(protection: Protection, consumer: Branch) -> set[str]:
    """The wires on some way from a source to a consumer, or back."""
    branches = [b for b in protection.circuit.branches if b.branch_type.joined is not Direction.NEVER]
    edges = [(b.a, b.b) for b in branches]
    known = {node for edge in edges for node in edge}
    poles = {pole for s in protection.sources for pole in (*s.plus, s.minus)} & known
    ends = {consumer.a, consumer.b} & known
    return {
        branches[i].owner
        for pole in poles
        for end in ends
        for i in between(edges, pole, end)
        if branches[i].segment is not None
    }
