"""Steps over the branches of a circuit, which searches are asked with (`lang.search`), and the shortest path."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..search.walks import back, reachable
from .branch import Branch

if TYPE_CHECKING:
    from collections.abc import Callable, Collection, Iterable, Iterator

    from .circuit import Circuit
    from .ids import End


def steps_over(circuit: Circuit, passes: Callable[[Branch], bool]) -> Callable[[str], list[tuple[End, Branch]]]:
    """Steps from terminal to terminal over the branches of which ``passes`` holds, either way, in the text's order."""
    at = circuit.at

    def step(node: str) -> list[tuple[End, Branch]]:
        return [(branch.other_end(node), branch) for branch in at.get(node, ()) if passes(branch)]

    return step


def path(
    circuit: Circuit, starts: Iterable[End], ends: Collection[str], passes: Callable[[Branch], bool]
) -> list[str | Branch] | None:
    """The shortest path over such branches from one of some terminals to one of others: the first terminal, the
    branches in order and the last terminal; ``None`` without one.
    """
    by = reachable(starts, steps_over(circuit, passes), until=ends)
    end = next((node for node in by if node in ends), None)
    if end is None:
        return None
    start = end
    branches: list[str | Branch] = []
    for branch in back(by.__getitem__, end, Branch.other_end):
        branches.append(branch)
        start = branch.other_end(start)
    return [start, *reversed(branches), end] if branches else [end]


def walked(circuit: Circuit, keys: Iterable[str], start: End) -> Iterator[tuple[Branch, End]]:
    """The branches of a way from a terminal on, each with the end by which it is left."""
    for key in keys:
        branch = circuit.by_key[key]
        start = branch.other_end(start)
        yield branch, start
