"""The circuit of a harness as a ``networkx`` graph: for users, their own rules, and what lays out and measures."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from ..model.parts import Fuse, Part
from ..model.wires import End
from .build import build_circuit

if TYPE_CHECKING:
    import networkx

    from ..model.harness import Harness
    from .branch import Branch


def graph(harness: Harness) -> networkx.MultiGraph[str]:
    """Every terminal a node, every branch an edge. It is made for the caller, who may change it.

    A node has ``part``, ``net`` (terminals of one number have nothing between them that can open) and ``place`` (empty
    where the text has none). An edge's key is the branch's, which no other has; it has

    - ``type`` (the title of its branch type), ``a`` and ``b``, ``direction`` (in which it joins these: ``both``,
      ``forward`` from a to b, ``never`` for a load), ``may_open`` (a contact, an output, a joint not to be relied on),
    - ``part``, ``wire`` and ``colour``, empty where it has none,
    - ``length`` in m, ``size`` in mm2 and ``fuse`` in A (its rating, where it is one), ``None`` where the text has no
      figure.
    """
    import networkx

    circuit = build_circuit(harness)
    of = circuit.nets.of
    inside = {node: harness.parts[b.part] for b in circuit.branches if b.part for node in (b.a, b.b)}  # ways of plugs
    parts = inside | {node: part for part in harness.parts.values() for node in (part.name, *_nodes(part))}
    made: networkx.MultiGraph[str] = networkx.MultiGraph(name=harness.title)
    for node in dict.fromkeys(circuit.terminals):
        part = parts[node]
        made.add_node(node, part=part.name, net=of[node], place=part.place or "")
    for branch in circuit.branches:
        made.add_edge(branch.a, branch.b, key=branch.key, **_edge(branch, harness))
    return made


def _nodes(part: Part) -> tuple[str, ...]:
    return tuple(End(part.name, terminal).node for terminal in part.terminals)


def _edge(branch: Branch, harness: Harness) -> dict[str, Any]:
    segment, part = branch.segment, harness.parts.get(branch.part)
    return {
        "type": branch.branch_type.title,
        "a": branch.a,
        "b": branch.b,
        "direction": branch.branch_type.joined.value,
        "may_open": branch.guard is not None or not branch.reliable,
        "part": branch.part,
        "wire": segment.wire if segment else "",
        "colour": str((segment.colour if segment else None) or ""),
        "length": segment.length if segment else None,
        "size": segment.size.area if segment and segment.size else None,
        "fuse": part.amps if isinstance(part, Fuse) else None,
    }
