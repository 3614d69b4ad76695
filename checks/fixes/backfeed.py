"""A diode that keeps a load from being fed backwards: in its feed wire, or in the wire that leads the current back."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from ...lang.circuit.branch import Branch
from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.ids import End
from ...lang.editing.proposals import AddLine, MoveEnd, Proposal
from ...lang.model.parts import Element, Splice
from ...lang.quantities.quantity import shown
from ...lang.records import dataclass
from ..conversion.still_connected import still_connected
from ..dc.devices import UnsolvableError
from ..operation.load_status import limits, load_status
from ..operation.operation import Operation
from ..tables.spares import spare_rating
from .new_parts import at_place, lead, unused

if TYPE_CHECKING:
    from ...lang.circuit.circuit import Circuit
    from ...lang.model.wires import Wire
    from ..operation.operation import OperatingPoint
    from ..study import Study


def diode_in_feed(study: Study, load: Branch, terminal: End) -> Iterator[Proposal]:
    """A diode in the one wire that ends at the feed terminal of a load; nothing where more wires end there, or where a
    size or the rating that is sold is not known.

    Only for a system that grounds its - pole: with the other the band is on the other side.
    """
    segments = study.circuit.pieces_at(terminal)
    wire = study.harness.wires.get(segments[0].wire) if len(segments) == 1 else None
    rating = spare_rating("diode", study.operation.loading(load.key).held.amps)
    if wire is None or wire.size is None or rating is None or study.circuit.return_sign != "-":
        return
    rated = f"{shown(rating)} A"
    says = f"fit a diode of {rated} in wire {wire.name} at {terminal}, its band (cathode) towards {terminal}"
    yield _fitted(study, says, wire, terminal, rated, band_to_terminal=True)


def _fitted(study: Study, says: str, wire: Wire, terminal: End, rated: str, *, band_to_terminal: bool) -> Proposal:
    """A diode between a wire and the terminal at which it ends. Raises ``ValueError`` for a wire without a size."""
    if wire.size is None:
        raise ValueError(f"wire {wire.name} has no size")
    diode = unused(study, f"D-{terminal.part}")
    far, near = ("A", "K") if band_to_terminal else ("K", "A")
    return Proposal(
        says,
        (
            AddLine(f"diode {diode} {rated}{at_place(study, terminal.part, can_seal=False)}"),
            MoveEnd(wire.name, terminal, f"{diode}.{far}"),
            lead(unused(study, f"{wire.name}-diode"), End(diode, near), terminal, wire.colour, wire.size),
        ),
    )


# --- in the way of a current that flows back -------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class Blocked:
    """Where a diode stops a current that flows back: in a wire from ``start`` to ``end``, its band towards ``end``,
    against that current. ``rating`` in A as sold; ``None`` where none is sold.
    """

    wire: str
    start: End
    end: End
    rating: float | None

    @property
    def says(self) -> str:
        """The repair as an imperative."""
        rated = f" of {shown(self.rating)} A" if self.rating is not None else ""
        return (
            f"fit a diode{rated} in wire {self.wire} between {self.start} and {self.end}, its band (cathode) towards "
            f"{self.end}"
        )

    def proposals(self, study: Study) -> tuple[Proposal, ...]:
        """The diode as an edit of the text: at the splice that the wire ends at, or where it is to let current go to;
        none where a size or a rating is not known.
        """
        wire = study.harness.wires[self.wire]
        if self.rating is None or wire.size is None:
            return ()
        at_start = isinstance(study.harness.parts.get(self.start.part), Splice)
        terminal = self.start if at_start else self.end
        return (_fitted(study, self.says, wire, terminal, f"{shown(self.rating)} A", band_to_terminal=not at_start),)


def blocking_diode(
    study: Study,
    path: Sequence[tuple[Branch, End]],
    stops: Callable[[Operation], bool],
    *,
    fed: frozenset[str] = frozenset(),
) -> Blocked | None:
    """The first wire on the way of a current that flows back in which a diode stops it and takes nothing else away.

    ``path``: the branches as the current flows, each with the end by which it leaves. Each wire on it is tried on the
    circuit: ``stops`` tells whether the current is gone with these numbers. Everything that is live in a named state
    must be so still, but for the keys of what is ``fed`` by that current; machines must start to charge as before; and
    each consumer must be connected in all combinations in which it was, a tell-tale in some of them: what flows back
    may be what puts it on at the wrong time.
    """
    circuit = study.circuit
    tried: set[str] = set()
    for branch, node in path:
        if branch.segment is None or branch.segment.wire in tried:
            continue
        tried.add(branch.segment.wire)
        trial = _with_diode(circuit, branch, node)
        operation = Operation(trial)
        if stops(operation) and _keeps_the_rest(study, operation, fed):
            wire = study.harness.wires[branch.segment.wire]
            ends = (wire.b, wire.a) if node == branch.b else (wire.a, wire.b)
            return Blocked(wire.name, *ends, spare_rating("diode", study.operation.loading(branch.key).held.amps))
    return None


def _with_diode(circuit: Circuit, wire: Branch, onward: End) -> Circuit:
    """The same circuit with a diode in place of one piece of wire, which lets current go away from ``onward`` only."""
    diode = Branch(key=wire.key, branch_type=BranchType.DIODE, a=onward, b=wire.other_end(onward), span=wire.span)
    return replace(circuit, branches=tuple(diode if each.key == wire.key else each for each in circuit.branches))


def _keeps_the_rest(study: Study, trial: Operation, fed: frozenset[str]) -> bool:
    """Whether what is live in the named states stays so, and what is connected anywhere."""
    for name, before in study.operation.points.items():
        try:
            after = trial.state(name)
        except UnsolvableError:
            return False
        if not before.memory.excited <= after.memory.excited:
            return False
        rest = (b for b in study.circuit.branches if b.key not in fed)
        if any(_is_live(before, branch) and not _is_live(after, branch) for branch in rest):
            return False
    consumers = [branch.key for branch in study.circuit.branches if limits(branch) is not None]
    items = ((branch.key, branch.item) for branch in study.circuit.branches)
    tell_tales = {key for key, item in items if isinstance(item, Element) and "tell-tale" in item.roles}
    return still_connected(study.logic, trial.logic, consumers, tell_tales)


def _is_live(point: OperatingPoint, branch: Branch) -> bool:
    status = load_status(point, branch.key)
    return status is not None and status.word == "live"
