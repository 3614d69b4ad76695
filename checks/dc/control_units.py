"""Control units: which of their outputs and latches change by their supplies and inputs."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.circuit.ids import BranchId, End, Role, inside, owner_of, unit_supply, winding_of
from ...lang.model.conditions import All, AnyOf, Not, Test
from ...lang.model.parts import Unit
from ..tables.device_constants import shares
from .memory import Memory
from .nodal_equations import NodalEquations
from .solved import Solved, is_stopped
from .topology import Ways

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping

    from ...lang.circuit.circuit import Circuit
    from ...lang.model.conditions import Condition
    from ...lang.model.parts import UnitInput


def set_latches(circuit: Circuit, positions: Mapping[str, str]) -> frozenset[str]:
    """The latches that the controls set."""
    return frozenset(
        name
        for part in circuit.harness.parts.values()
        if isinstance(part, Unit)
        for latch in part.latches
        if positions.get(name := inside(part.name, latch.name, Role.LATCH))
    )


def held_latches(network: NodalEquations, flow: Solved, positions: Mapping[str, str], memory: Memory) -> frozenset[str]:
    """The latches that stand as the controls set them only because they do. One that holds by itself was set before:
    what comes after may clear it.
    """
    named = set_latches(network.circuit, positions)
    parts = network.circuit.harness.parts.values() if named else ()
    units = [part for part in parts if isinstance(part, Unit) and part.latches]
    changes = [c for unit in units for c in unit_changes(network, flow, unit, positions, memory, frozenset())]
    return named & {name for kind, name in changes if kind == "latched"}


def unit_changes(
    network: NodalEquations,
    flow: Solved,
    unit: Unit,
    positions: Mapping[str, str],
    memory: Memory,
    fixed: frozenset[str],
    gone: Collection[str] = (),
) -> list[tuple[str, str]]:
    """Outputs and latches of a unit that differ from what its supply and inputs say. ``gone``: the branches that are
    open inside: a supply among them is none, whatever its terminals have, and the winding of a sensor gives no signal.
    """
    circuit = network.circuit
    needed = shares()["unit supply"].works * circuit.harness.volts
    powered = {}
    for supply in unit.supplies:
        branch = circuit.by_key.get(unit_supply(unit, supply))
        powered[supply.name] = (
            branch is not None and branch.key not in gone and flow.at(branch.a) - flow.at(branch.b) >= needed
        )
    awake = powered.get(unit.supplies[0].name, False) if unit.supplies else False
    inputs = {
        given.name: _readings(network, flow, unit, given, positions, gone) if awake else NEVER for given in unit.inputs
    }

    def may(term: Condition, wanted: bool = True, *, at_once: bool = False) -> bool:
        """Whether a condition is as ``wanted`` at any moment of a turn of the engine; ``at_once``: while all that the
        engine moves is active.
        """
        match term:
            case Test(control):
                if control in inputs:
                    return wanted in inputs[control] and (wanted or not at_once or True not in inputs[control])
                return (inside(unit.name, control, Role.LATCH) in memory.latched) is wanted
            case Not(inner):
                return may(inner, not wanted, at_once=at_once)
            case All(terms):
                return (all if wanted else any)(may(t, wanted, at_once=at_once) for t in terms)
            case AnyOf(terms):
                return (any if wanted else all)(may(t, wanted, at_once=at_once) for t in terms)

    stopped = False
    if unit.stop_lead:
        lead, back = (End(unit.name, terminal) for terminal in unit.stop_lead)
        stopped = is_stopped(flow, unit, lead, back)
    found: list[tuple[str, str]] = []
    for latch in unit.latches:
        name = inside(unit.name, latch.name, Role.LATCH)
        latched = name in memory.latched
        # A toggled latch stands as it did: how often its button was pressed no state tells but one that names it.
        set_now = not latch.toggles and may(latch.set_when)
        stays = may(latch.cleared_when, False, at_once=not set_now)  # one pulse clears it, unless one sets it again
        wanted = awake and stays and (latched or set_now)
        if wanted != latched and name not in fixed:
            found.append(("latched", name))
    for output in unit.outputs:
        name = inside(unit.name, output.name, Role.OUTPUT)
        fed = awake and powered.get(output.supply, awake) and not stopped
        asked = output.when is None or may(output.when)  # on for its duty, whichever the engine asks for
        wanted = fed and (asked or name in memory.lasting & memory.on)
        if wanted != (name in memory.on):
            found.append(("on", name))
    return found


def signal_comes(network: NodalEquations, flow: Solved, node: str, gone: Collection[str] = ()) -> bool:
    """Whether an input is connected to a sensor that gives its signal; so it is where the text shows none. One whose
    winding is open, among the branches ``gone`` or no longer in the circuit, gives none.
    """
    senders = network.topology.senders.get(node, ())
    return not senders or any(
        all(flow.reaches(at, (to,)) for at, to in ways)
        and (winding := winding_at(ways)) in network.circuit.by_key
        and winding not in gone
        for ways in senders
    )


def winding_at(ways: Ways) -> BranchId:
    """The winding of the sensor that an input is wired to."""
    return winding_of(owner_of(ways[0][1]))


NEVER, EITHER, ACTIVE = frozenset({False}), frozenset({False, True}), frozenset({True})


def _readings(
    network: NodalEquations,
    flow: Solved,
    unit: Unit,
    given: UnitInput,
    positions: Mapping[str, str],
    gone: Collection[str],
) -> frozenset[bool]:
    """Whether an input is active: both where that changes with every turn of the engine.

    It takes no current, so what it is connected to decides and not its volts.
    """
    closed = _active(network, flow, unit, given, positions, gone)
    pulsing = flow.situation.pulsing
    if not closed or not pulsing:
        return ACTIVE if closed else NEVER  # what is open cannot join what is not joined with all of it closed
    if given.mode == "signal":
        return EITHER if inside(unit.name, given.name, Role.SIGNAL) in pulsing else ACTIVE
    return ACTIVE if _active(network, flow.parted, unit, given, positions, gone) else EITHER


def _active(
    network: NodalEquations,
    flow: Solved,
    unit: Unit,
    given: UnitInput,
    positions: Mapping[str, str],
    gone: Collection[str],
) -> bool:
    """Whether an input is active with what conducts now.

    A signal comes while the engine turns, as long as what gives it is connected to the input and nobody says otherwise.
    """
    node = End(unit.name, given.terminal)
    if given.mode == "signal":
        name = inside(unit.name, given.name, Role.SIGNAL)
        comes = name in flow.situation.pulsing or positions.get(name) == "active"
        return comes and positions.get("engine", "off") != "off" and signal_comes(network, flow, node, gone)
    if given.mode == "grounded":
        return flow.reaches(node, returns_of(unit, given))
    return flow.fed(node)


def returns_of(unit: Unit, given: UnitInput) -> tuple[End, ...]:
    """The terminals to which a grounded input is joined when it is active."""
    backs = (given.back,) if given.back else tuple(s.minus for s in unit.supplies)
    return tuple(End(unit.name, back) for back in backs)
