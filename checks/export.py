"""The circuit of a harness as plain numbers, for other programs: what conducts when, and how much.

``exported`` gives one document, which ``render/formats/circuit.schema.json`` describes. With it a program can solve any
combination of the controls by itself: ``render/page/solver.js`` does. Nothing here decides anything new: constants come
from the device models, what moves from the circuit, and the named states from ``operation``, to check oneself by.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from ..lang.circuit.branch import InPosition, On, Pulled
from ..lang.circuit.branch_types import BranchType
from ..lang.circuit.ids import End, Role, coil_of, field_of, inside, unit_supply
from ..lang.model.conditions import ENGINE_POSITIONS, All, AnyOf, Not, Test
from ..lang.model.parts import Element, Regulator, Relay, Unit, stop_directions
from .behaviour import ANY, Behaviour
from .behaviour.when import when
from .dc import device_models, devices
from .dc.conducting import amps_by_watts
from .dc.excitation import start_volts
from .dc.kron_reduction import TIE
from .dc.machines import Inside
from .dc.memory import Memory
from .dc.nodal_equations import NodalEquations
from .dc.regulation import HIGHEST_SHARE, SENSE_TOLERANCE
from .dc.relay_fixed_point import MOST_ROUNDS, MOST_TUNINGS, drops_out, pulls_in
from .dc.situation import Situation
from .operation.load_status import limits
from .tables.device_constants import laws as figures
from .tables.device_constants import shares

if TYPE_CHECKING:
    from ..lang.circuit.branch import Branch, Supply
    from ..lang.circuit.circuit import Circuit
    from ..lang.model.conditions import Condition
    from .dc.device_models import Curve
    from .dc.no_windings import Measured
    from .operation.operating_point import OperatingPoint
    from .operation.operation import Operation
    from .study import Study

VERSION = 1
"""Of the format. Fields may be added under one version; none changes its meaning or goes."""

Document = dict[str, Any]


def exported(study: Study) -> Document:
    """The whole document; it holds nothing but what JSON has, in an order that only the text decides."""
    circuit, operation = study.circuit, study.operation
    network = operation.network
    return {
        "format": "loomwright circuit",
        "version": VERSION,
        "title": circuit.harness.title,
        "volts": circuit.harness.volts,
        "grounded": circuit.harness.grounded,
        "ground": str(circuit.ground),
        "constants": _constants(),
        "nodes": list(_nodes(circuit, network, study.behaviour)),
        "branches": [_branch(branch, network, study.behaviour) for branch in circuit.branches],
        "batteries": [_battery(supply, curve) for supply, curve in network.batteries],
        "machines": [_machine(supply, network) for supply in circuit.supplies if supply.kind == "machine"],
        "regulators": list(_regulators(circuit)),
        "controls": list(_controls(circuit, periodic=network.periodic)),
        "conditions": list(_conditions(circuit, network)),
        "windings": _windings(operation),
        "states": [_state(operation, name) for name in circuit.harness.states],
        "unsolvable": "" if network.impossible is None else str(network.impossible),
    }


def _constants() -> Document:
    """What all device models share; conductances in S."""
    known = figures()
    return {
        "leak": device_models.LEAK,
        "tie": TIE,
        "least_slope": known.least_slope,
        "lamp_exponent": known.lamp_exponent,
        "lamp_hot_over_cold": known.lamp_hot_over_cold,
        "machine_ohms": devices.MACHINE_OHMS,
        "tap_siemens": devices.TAP_SIEMENS,
        "short_siemens": 1.0 / devices.NEGLIGIBLE_OHMS,
        "sense_tolerance": SENSE_TOLERANCE,
        "highest_share": HIGHEST_SHARE,
        "rounds": MOST_ROUNDS,
        "tunings": MOST_TUNINGS,
    }


def _number(value: float) -> float:
    """Without the last digits, which may differ from one machine to the next."""
    return float(f"{value:.12g}") + 0.0


def _curve(curve: Curve) -> Document:
    found: Document = {"slope": _number(curve.slope), "offset": _number(curve.offset)}
    found["knees"] = [
        {"volts": _number(knee.volts), "slope": _number(knee.slope), "up": knee.up} for knee in curve.breakpoints
    ]
    filament = curve.filament
    found["filament"] = filament and {"volts": _number(filament.volts), "amps": _number(filament.amps)}
    return found


# --- nodes and branches ----------------------------------------------------------------------------------------------
def _nodes(circuit: Circuit, network: NodalEquations, behaviour: Behaviour) -> Iterator[Document]:
    """Every terminal, then the insides of machines, which no net holds."""
    fed = [when(behaviour, behaviour.fed(nodes[0], ANY)).words() for nodes in circuit.nets.nodes]
    for end in circuit.terminals:
        net = circuit.nets.of[end]
        yield {"name": str(end), "part": end.part, "terminal": end.terminal, "net": net, "live": fed[net]}
    for node in network.nodes:
        if isinstance(node, Inside):
            yield {"name": str(node), "part": node.part, "terminal": "", "net": None, "live": ""}


def _branch(branch: Branch, network: NodalEquations, behaviour: Behaviour) -> Document:
    key, kind, segment = branch.key, branch.branch_type, branch.segment
    rated = network.rated[key]
    reference = network.references.get(key)
    wire: Document | None = None
    if segment is not None:
        wire = {
            "piece": segment.name,
            "colour": str(segment.colour or ""),
            "size": segment.size.text if segment.size else "",
            "metres": None if segment.length is None else _number(segment.length),
        }
    asleep: Document | None = None
    if kind is BranchType.SUPPLY:
        asleep = _model(devices.supply_draw(branch, network.circuit.harness, asleep=True))
    return {
        "key": str(key),
        "type": kind.title,
        "owner": key.owner,
        "element": key.detail if key.role in (Role.ELEMENT, Role.OUTPUT, Role.WINDING) else "",
        "a": str(branch.a),
        "b": str(branch.b),
        "joins": kind.joined.value,
        "loads": kind.as_load.value,
        "guard": _guard(branch, network.circuit),
        "model": _model(rated),
        "asleep": asleep,
        "reference": None if reference is None else str(reference),
        "rated_amps": None if rated.amps is None else _number(rated.amps),
        "duty": network.duties.get(key, 1.0),
        "wire": wire,
        "status": _status(branch, network),
        "live": when(behaviour, behaviour.live(key)).words() if kind.consumes else "",
    }


def _model(rated: devices.Rated) -> Document | None:
    if rated.curve is not None:
        return {"siemens": None, "curve": _curve(rated.curve)}
    return None if rated.ohms is None else {"siemens": _number(1.0 / rated.ohms), "curve": None}


def _guard(branch: Branch, circuit: Circuit) -> Document | None:
    """What opens and closes a branch; ``None`` for what nothing does."""
    match branch.guard:
        case InPosition(control, positions):
            known = circuit.controls[control]
            return {"control": control, "positions": [p for p in known.positions if p in positions]}
        case Pulled(relay, pulled):
            return {"relay": relay, "pulled": pulled}
        case On(unit, output):
            return {"output": str(inside(unit, output, Role.OUTPUT))}
        case None:
            return None if branch.reliable else {"joint": "not to be relied on"}


def _status(branch: Branch, network: NodalEquations) -> Document | None:
    """From which share of its volts or amps an element is dim, and from which it works; ``None`` for all else."""
    known = limits(branch)
    if known is None:
        return None
    needs = branch.item.needs if isinstance(branch.item, Element) else None
    nominal, amps = branch.made_for(network.circuit.harness.volts), network.rated[branch.key].amps
    by_amps = known.of == "rated amps" and needs is None
    if known.of == "rated amps" and not amps:
        return None
    start = works = known.works if needs is None else needs / nominal
    if needs is None:
        start = known.start
    return {
        "of": "amps" if by_amps else "volts",
        "rated": _number(amps or 0.0) if by_amps else nominal,
        "dead": min(known.dead, works),
        "works": _number(works),
        "start": _number(start),
        "polarised": branch.branch_type.polarised,
    }


# --- sources ---------------------------------------------------------------------------------------------------------
def _battery(supply: Supply, curve: Curve) -> Document:
    return {"name": supply.name, "plus": str(supply.plus[0]), "minus": str(supply.minus), "curve": _curve(curve)}


def _machine(supply: Supply, network: NodalEquations) -> Document:
    """``amps``: the most by the engine's position, 0 where it gives nothing; a measured stator comes before these."""
    machines, regulated = network.machines, network.regulated[supply.name]
    fields = [str(key) for key in machines.fields[supply.name]]
    own = field_of(supply.name)
    return {
        "name": supply.name,
        "plus": [str(plus) for plus in supply.plus],
        "minus": str(supply.minus),
        "inside": str(Inside(supply)),
        "regulated": regulated,
        "amps": {engine: _number(amps_by_watts(network, supply, engine) or 0.0) for engine in ENGINE_POSITIONS[1:]},
        "fields": fields,
        "full_fields": fields or ([str(own)] if own in network.circuit.by_key else []),
        "field_start_volts": _number(start_volts(regulated)),
        "field_siemens": _number(machines.field_siemens[supply.name]),
        "own_fields": [[str(end), str(pole)] for end, pole in machines.own_fields.get(supply.name, ())],
        "phases": [str(phase) for phase in supply.phases],
        "stators": [str(end) for end in machines.stators] if supply.phases else [],
        "senses": machines.may_sense(supply),
        "measured": [_measured(each) for each in network.measured(supply)],
    }


def _measured(stator: Measured) -> Document:
    """``by_leads``: by how many of its leads the machine reaches, then by the engine's position."""
    by_leads = {
        str(count): {
            engine: {"amps": _number(amps), "points": [[_number(v), _number(a)] for v, a in points]}
            for engine, (amps, points) in by_engine.items()
        }
        for count, by_engine in stator.by_leads.items()
    }
    return {"leads": [str(lead) for lead in stator.leads], "by_leads": by_leads}


def _regulators(circuit: Circuit) -> Iterator[Document]:
    """Those that sense elsewhere: ``sense`` is held to the regulated volts of the machine whose field they pass."""
    for part in circuit.harness.parts.values():
        if isinstance(part, Regulator) and part.sense and part.passes and part.name not in circuit.removed:
            ends = {"sense": part.sense, "passes": part.passes}
            yield {"name": part.name} | {word: [str(End(part.name, t)) for t in at] for word, at in ends.items()}


# --- what moves ------------------------------------------------------------------------------------------------------
def _controls(circuit: Circuit, *, periodic: bool) -> Iterator[Document]:
    for control in circuit.controls.values():
        positions = ENGINE_POSITIONS if periodic and control.name == "engine" else control.positions
        yield {
            "name": control.name,
            "positions": list(positions),
            "rest": control.rest,
            "switches": list(control.switches),
            "momentary": control.momentary,
            "sensed": control.sensed,
            "key": control.key,
            "free": control.free,
        }


def _conditions(circuit: Circuit, network: NodalEquations) -> Iterator[Document]:
    """Relays and units, in the order in which they are asked whether they move."""
    nominal = circuit.harness.volts
    for part in circuit.harness.parts.values():
        if part.name in circuit.removed:
            continue
        if isinstance(part, Relay) and circuit.coil_of(part.name) is not None:
            pulls, drops = pulls_in(part, nominal), drops_out(part, nominal)
            yield {"relay": part.name, "coil": str(coil_of(part.name)), "pulls_in": pulls, "drops_out": drops}
        elif isinstance(part, Unit):
            yield _unit(part, network)


def _unit(unit: Unit, network: NodalEquations) -> Document:
    def ends(*terminals: str) -> list[str]:
        return [str(End(unit.name, terminal)) for terminal in terminals]

    grounds = ends(*(supply.minus for supply in unit.supplies))
    stop = unit.stop_lead and {"ends": ends(*unit.stop_lead), "directions": len(stop_directions(unit))}
    return {
        "unit": unit.name,
        "needs": _number(shares()["unit supply"].works * network.circuit.harness.volts),
        "supplies": [{"name": each.name, "branch": str(unit_supply(unit, each))} for each in unit.supplies],
        "inputs": [
            {
                "name": str(inside(unit.name, given.name, Role.SIGNAL)),
                "at": str(End(unit.name, given.terminal)),
                "mode": given.mode,
                "grounds": ends(given.back) if given.back else grounds,
                "senders": [
                    [[str(end) for end in way] for way in ways]
                    for ways in network.topology.senders.get(End(unit.name, given.terminal), ())
                ],
            }
            for given in unit.inputs
        ],
        "latches": [
            {
                "name": str(inside(unit.name, latch.name, Role.LATCH)),
                "set": _expression(unit, latch.set_when),
                "cleared": _expression(unit, latch.cleared_when),
                "toggles": latch.toggles,
            }
            for latch in unit.latches
        ],
        "outputs": [
            {
                "name": str(inside(unit.name, output.name, Role.OUTPUT)),
                "supply": output.supply,
                "when": None if output.when is None else _expression(unit, output.when),
            }
            for output in unit.outputs
        ],
        "stop": stop,
    }


def _expression(unit: Unit, term: Condition) -> list[Any]:
    """A condition of a unit as nested lists: ``["all", ["input", "CTRL.horn"], ["not", ["latch", "CTRL.left"]]]``."""
    match term:
        case Test(control):
            if any(given.name == control for given in unit.inputs):
                return ["input", str(inside(unit.name, control, Role.SIGNAL))]
            return ["latch", str(inside(unit.name, control, Role.LATCH))]
        case Not(inner):
            return ["not", _expression(unit, inner)]
        case All(terms):
            return ["all", *(_expression(unit, each) for each in terms)]
        case AnyOf(terms):
            return ["any", *(_expression(unit, each) for each in terms)]


# --- what cannot be solved by direct current alone -------------------------------------------------------------------
def _windings(operation: Operation) -> Document:
    """``periodic``: the engine's positions in which windings decide all volts; ``left_out``: what of a winding is not
    solved, by position; ``only``: the consumers that nothing else feeds.
    """
    network = operation.network
    left_out = []
    for engine in ENGINE_POSITIONS[1:]:
        still = Situation(frozenset(), turning=True, engine=engine)
        left_out += [
            {"engine": engine, "winding": each.winding, "why": each.why}
            for each in network.left_out(still, frozenset())
            if not network.turns(engine)
        ]
    return {
        "periodic": [engine for engine in ENGINE_POSITIONS[1:] if network.turns(engine)],
        "left_out": left_out,
        "only": [str(key) for key in operation.alternating],
    }


# --- named states ----------------------------------------------------------------------------------------------------
def _state(operation: Operation, name: str) -> Document:
    """A named state from rest, and as relays and machines may have been left before; or why it has no numbers."""
    found: Document = {
        "name": name,
        "positions": dict(operation.circuit.harness.states[name].in_numbers),
        "pinned": sorted(operation.pinned(name)),
        "problem": "",
        "points": [],
    }
    if name in operation.unsolved:
        return found | {"problem": str(operation.unsolved[name])}
    ways = [(point, history) for point, history in operation.left_before.ways if point.state == name]
    return found | {"points": [_point(point, history) for point, history in ways]}


def _point(point: OperatingPoint, history: str) -> Document:
    circuit, flow = point.circuit, point.flow
    amps = {str(b.key): flow.amps.get(b.key, 0.0) for b in circuit.branches}
    for supply in circuit.supplies:
        amps[str(supply.key)] = point.amps(supply.key)
    return {
        "history": history,
        "memory": _memory(point.memory),
        "shorted": point.shorted,
        "volts": {str(node): _rounded(flow.at(node), 5) for node in flow.network.nodes if not isinstance(node, Inside)},
        "amps": {key: _rounded(size, 7) for key, size in amps.items()},
    }


def _memory(memory: Memory) -> Mapping[str, list[str]]:
    kinds = {"pulled": memory.pulled, "on": memory.on, "latched": memory.latched, "excited": memory.excited}
    return {kind: sorted(map(str, names)) for kind, names in kinds.items()}


def _rounded(value: float, digits: int) -> float:
    return round(value, digits) + 0.0
