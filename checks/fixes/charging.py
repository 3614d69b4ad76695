"""Where a regulator can sense: the terminal at which what it regulates is connected to the battery."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.circuit.ids import End
from ...lang.editing.proposals import Proposal
from ...lang.model.parts import Regulator
from ..tables.fuses import ratings
from .new_leads import size_at
from .new_parts import colour_at, free, lead_along, unused

if TYPE_CHECKING:
    from ...lang.circuit.branch import Supply
    from ..study import Study


def charging_output(study: Study, regulator: str) -> End | None:
    """The terminal of a regulator, or else of a machine or rectifier, that copper and fuses connect to the battery's
    pole that is not grounded; ``None`` without one. Of a regulator with a cut-out it is the dynamo's side: sensed
    behind the cut-out the voltage coil would discharge the battery at rest.
    """
    circuit, joined = study.circuit, study.copper.fused
    forward = circuit.return_sign == "-"
    poles = [s.plus[0] if forward else s.minus for s in circuit.supplies if s.kind == "battery"]
    part = study.harness.parts[regulator]
    if isinstance(part, Regulator) and part.cut_out is not None:
        return End(regulator, part.cut_out[0 if forward else 1])
    own = [End(regulator, terminal) for terminal in part.terminals]
    outputs = [node for s in circuit.supplies if s.kind == "machine" for node in (s.plus if forward else (s.minus,))]
    return next((node for node in (*own, *outputs) if any(joined.same(node, pole) for pole in poles)), None)


def sensed_there(study: Study, sense: End, output: End) -> tuple[Proposal, ...]:
    """A wire from a sense terminal that has none to the terminal where the regulator charges the battery."""
    at, size = free(study, output), size_at(study, (output,))
    if study.circuit.pieces_at(sense) or at is None or size is None:
        return ()
    line = lead_along(study, unused(study, "sense"), sense, sense.part, at, colour_at(study, output), size)
    return (Proposal(f"connect {sense} to {output}", (line,)),)


def old_lead(study: Study, output: End) -> str:
    """The wire that must come off the output of a machine when it gets a separate lead, since two leads in parallel
    have no fuse that protects them; empty where none is connected.
    """
    wires = list(dict.fromkeys(piece.wire for piece in study.circuit.pieces_at(output)))
    return f"wire {wires[0]}" if len(wires) == 1 else "the wire towards the battery" if wires else ""


def charging_fuse(study: Study, supply: Supply) -> float | None:
    """The rating in A of a fuse between a machine and the battery: the least sold that carries the machine's whole
    output at its regulated voltage, by the share of the profile. ``None`` where the output is not known.
    """
    watts = supply.output.watts if supply.output is not None else None
    volts = study.operation.network.regulated.get(supply.name)
    if not watts or not volts:
        return None
    least = watts / volts / study.protection.profile.continuous_share
    return min((rating for rating in ratings("blade") if rating >= least), default=None)
