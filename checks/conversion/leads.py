"""The leads of parts: what a terminal was wired to in the old harness, and what still is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.model.parts import Connector, Ground, Splice

if TYPE_CHECKING:
    from ...lang.circuit.circuit import Circuit


def wires_at(circuit: Circuit, node: str) -> tuple[str, ...]:
    """The wires and mounts at a terminal, by name, in the order of the text."""
    found = [b.segment.wire if b.segment else b.key for b in circuit.at.get(node, ()) if b.segment or _mounts(b.key)]
    return tuple(dict.fromkeys(found))


def _mounts(key: str) -> bool:
    return key.startswith("mount ")


def led_to(circuit: Circuit, node: str) -> tuple[str, ...]:
    """The terminals of parts and the grounds that a terminal is wired to, past splices and plugs, nearest first."""
    parts = circuit.harness.parts
    start = node.partition(".")[0]
    seen = {node}
    queue = [node]
    found: list[str] = []
    for here in queue:
        for branch in circuit.at.get(here, ()):
            if not branch.branch_type.conductor:
                continue
            other = branch.b if branch.a == here else branch.a
            if other in seen:
                continue
            seen.add(other)
            owner = other.partition(".")[0]
            part = parts.get(owner)
            if isinstance(part, Splice | Connector):
                queue.append(other)
            elif part is not None and (owner != start or isinstance(part, Ground)):
                found.append(other)
    return tuple(found)
