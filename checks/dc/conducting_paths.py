"""What is connected to what by anything that conducts, consumers and sources among it."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.search.walks import closure
from .connectivity import always
from .devices import Rated

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from ...lang.circuit.circuit import Circuit
    from .situation import Situation


class ConductingPaths:
    """The ways of one circuit through all that has a resistance or a law."""

    def __init__(self, circuit: Circuit, rated: Mapping[str, Rated]) -> None:
        self.circuit = circuit
        self._rated = rated

    def joined_to(
        self, nodes: Sequence[str], situation: Situation, gone: frozenset[str] = frozenset(), grounded: str = ""
    ) -> set[str]:
        """The nodes with a way to some others through anything that conducts, while branches are ``gone``, by key, and
        a node is ``grounded`` (``""``: none). A source joins its poles.
        """
        circuit = self.circuit
        extra: dict[str, list[str]] = {}
        if grounded:
            extra = {grounded: [circuit.ground], circuit.ground: [grounded]}
        running = {m.supply for m in situation.machines}
        for supply in circuit.supplies:
            if supply.kind == "battery" or supply.name in running:
                poles = [*supply.plus, supply.minus]
                for pole in poles:
                    extra.setdefault(pole, []).extend(poles)
        beside, conducting = self._beside, situation.conducting

        def near(node: str) -> list[str]:
            found = [
                other
                for other, key, closed in beside.get(node, ())
                if (closed or key in conducting) and key not in gone
            ]
            return found + extra[node] if node in extra else found

        return closure(nodes, near)

    @cached_property
    def _beside(self) -> dict[str, list[tuple[str, str, bool]]]:
        """What is beside each node over anything that conducts: the other node, the branch's key, whether always."""
        return {
            node: [
                (branch.b if branch.a == node else branch.a, branch.key, always(branch))
                for branch in branches
                if self._rated[branch.key].ohms is not None or self._rated[branch.key].curve is not None
            ]
            for node, branches in self.circuit.at.items()
        }
