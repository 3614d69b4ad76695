"""The circuit of a harness."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import replace
from functools import cached_property
from typing import Literal

from ..model.harness import Harness
from ..model.parts import Ground, Splice
from ..model.wires import Segment
from ..records import dataclass
from .branch import Branch, Control, Supply
from .branch_types import BranchType, Direction
from .graphs import Nets, nets
from .ids import INNER, BranchId, End, Role, coil_of


@dataclass(frozen=True)
class Circuit:
    """The branches of a harness, its supplies and controls. Order is the order of the text: deterministic."""

    harness: Harness
    branches: tuple[Branch, ...]
    supplies: tuple[Supply, ...]
    controls: dict[str, Control]
    removed: frozenset[str] = frozenset()

    @cached_property
    def nets(self) -> Nets:
        """Terminals by what cannot open between them, and the edges between those."""
        return nets(self.terminals, self.branches)

    @cached_property
    def terminals(self) -> tuple[End, ...]:
        """Every node of the harness, wired or not, each once, in the order of the text."""
        return tuple(dict.fromkeys(self._terminals()))

    def _terminals(self) -> Iterator[End]:
        for part in self.harness.parts.values():
            if isinstance(part, Splice | Ground):
                yield End(part.name)
            for terminal in part.terminals:
                yield End(part.name, terminal)
        for branch in self.branches:
            yield branch.a
            yield branch.b
        for supply in self.supplies:
            yield from supply.plus
            yield supply.minus
            yield from supply.phases

    @cached_property
    def by_key(self) -> dict[str, Branch]:
        return {branch.key: branch for branch in self.branches}

    @cached_property
    def at(self) -> dict[str, tuple[Branch, ...]]:
        """Every branch that touches a node."""
        touching: dict[str, list[Branch]] = {}
        for branch in self.branches:
            touching.setdefault(branch.a, []).append(branch)
            touching.setdefault(branch.b, []).append(branch)
        return {node: tuple(found) for node, found in touching.items()}

    @property
    def ends(self) -> tuple[End, ...]:
        """Every end that a branch comes to, in the order of the text."""
        return tuple(dict.fromkeys(end for branch in self.branches for end in (branch.a, branch.b)))

    def pieces_at(self, node: str) -> tuple[Segment, ...]:
        """The wires that end at a node, in the order of the text."""
        return tuple(branch.segment for branch in self.at.get(node, ()) if branch.segment is not None)

    @cached_property
    def steps(self) -> dict[str, tuple[tuple[BranchId, End, bool], ...]]:
        """From each node what current can come over at once: the branch's key, the node beyond, whether it may be open.

        In the order of the text.
        """
        return self._steps(forward=True)

    @cached_property
    def steps_back(self) -> dict[str, tuple[tuple[BranchId, End, bool], ...]]:
        """The same to each node: the node that current comes from."""
        return self._steps(forward=False)

    def _steps(self, *, forward: bool) -> dict[str, tuple[tuple[BranchId, End, bool], ...]]:
        found: dict[str, list[tuple[BranchId, End, bool]]] = {}
        for branch in self.branches:
            may_open = branch.guard is not None or not branch.reliable
            near, far = (branch.a, branch.b) if forward else (branch.b, branch.a)
            if branch.branch_type.joined is not Direction.NEVER:
                found.setdefault(near, []).append((branch.key, far, may_open))
            if branch.branch_type.joined is Direction.BOTH:
                found.setdefault(far, []).append((branch.key, near, may_open))
        return {node: tuple(steps) for node, steps in found.items()}

    @cached_property
    def of_part(self) -> dict[str, tuple[Branch, ...]]:
        """The branches inside each part."""
        inside: dict[str, list[Branch]] = {}
        for branch in self.branches:
            if branch.part:
                inside.setdefault(branch.part, []).append(branch)
        return {part: tuple(found) for part, found in inside.items()}

    @property
    def return_sign(self) -> Literal["+", "-"]:
        """Which pole of the sources the system grounds."""
        return "-" if self.harness.grounded == "negative" else "+"

    @cached_property
    def ground(self) -> End:
        """The pole of the battery that the system grounds, as a node; of the first source where there is no battery,
        one of no part where none is there either.
        """
        poles = [
            supply.minus if self.return_sign == "-" else supply.plus[0]
            for supply in sorted(self.supplies, key=lambda s: s.kind != "battery")
        ]
        return poles[0] if poles else End("")

    def damaged(self, opened: Collection[str], grounded: str = "", joined: Iterable[tuple[End, End]] = ()) -> Circuit:
        """The same harness with these branches open, by key, a node shorted to ground (``""``: none), and the nodes of
        each pair ``joined``.
        """
        branches = [branch for branch in self.branches if branch.key not in opened]
        shorts = [(grounded, self.ground)] if grounded and grounded != self.ground else []
        for nth, (a, b) in enumerate((*shorts, *joined), 1):
            end, span = next((end, each.span) for each in self.branches for end in (each.a, each.b) if end == a)
            key = BranchId("", Role.SHORT, nth=nth)
            branches.append(Branch(key=key, branch_type=BranchType.LINK, a=end, b=b, span=span))
        return replace(self, branches=tuple(branches))

    def without(self, names: Iterable[str]) -> Circuit:
        """The same harness with those parts, wires, pieces or branches taken out (supplies too)."""
        gone = frozenset(names)
        kept = tuple(
            b
            for b in self.branches
            if b.key not in gone and b.owner not in gone and not (b.segment and b.segment.name in gone)
        )
        supplies = tuple(s for s in self.supplies if s.name not in gone)
        return Circuit(self.harness, kept, supplies, self.controls, self.removed | gone)

    def wire(self, name: str) -> tuple[Branch, ...]:
        """The pieces of a wire, in the order of the text; none where no wire has that name."""
        return tuple(branch for branch in self.branches if branch.segment is not None and branch.segment.wire == name)

    def coil_of(self, relay: str) -> Branch | None:
        """The coil of a relay, where it has one."""
        return self.by_key.get(coil_of(relay))

    def element(self, part: str, name: str) -> Branch | None:
        """What a part has by its own name: an element, a winding, an output, a way."""
        return next((b for b in self.of_part.get(part, ()) if b.key.detail == name and b.key.role in INNER), None)

    def element_branch(self, part: str, element: str | None) -> Branch | None:
        """The branch of an element; of the part's only one where ``element`` is ``None``."""
        if element is not None:
            return self.element(part, element)
        consumers = [b for b in self.of_part.get(part, ()) if b.branch_type.consumes]
        return consumers[0] if len(consumers) == 1 else None
