"""A permanent supply that the key switches off."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.branch import InPosition
from ....lang.circuit.branch_types import BranchType
from ....lang.circuit.circuit import Circuit
from ....lang.circuit.ids import End
from ....lang.model.parts import Switch, Unit, UnitSupply
from ....lang.search.disjoint_set import DisjointSet
from ....lang.vocabulary.words import KEY_OUT
from ...behaviour.dependents import engine_depends
from ...findings.finding import Finding, Level, Stage
from ...rule import Rule
from ...study import Study

_OPENS = (
    BranchType.CONTACT,
    BranchType.FUSE,
    BranchType.METER,
    BranchType.DIODE,
    BranchType.OUTPUT,
    BranchType.PASS,
    BranchType.FLASHER,
    BranchType.RESISTOR,
)


def find(study: Study) -> Iterator[Finding]:
    parts = study.harness.parts.values()
    keys = {part.control: part.name for part in parts if isinstance(part, Switch) and part.key}
    asleep = [
        (part, supply)
        for part in parts
        if isinstance(part, Unit)
        for supply in part.supplies
        if supply.asleep is not None
    ]
    if not keys or not asleep:
        return
    circuit = study.circuit
    with_key_out, with_key = _joined(circuit, set(keys), out=True), _joined(circuit, set(keys), out=False)
    feeds = [
        supply.plus[0] if circuit.return_sign == "-" else supply.minus
        for supply in circuit.supplies
        if supply.kind == "battery"
    ]
    for unit, supply in asleep:
        node = End(unit.name, supply.plus if circuit.return_sign == "-" else supply.minus)
        if any(with_key_out.leader(node) == with_key_out.leader(feed) for feed in feeds):
            continue
        if not any(with_key.leader(node) == with_key.leader(feed) for feed in feeds):
            continue  # it is fed in no position: never-live says so
        yield _found(study, unit, supply, node, tuple(keys.values()))


def _found(study: Study, unit: Unit, supply: UnitSupply, node: str, keys: tuple[str, ...]) -> Finding:
    outputs = [output for output in unit.outputs if output.supply == supply.name]
    return RULE.found(
        "dead",
        unit.shown_at(supply.span),
        facts={"terminal": node, "supply": supply.name, "unit": unit.name, "keys": keys},
        level=Level.ERROR if engine_depends(study.copper, unit, outputs) else Level.WARNING,
        about=(unit.name,),
    )


def _joined(circuit: Circuit, keys: set[str], *, out: bool) -> DisjointSet[str]:
    """What is connected through contacts in any position, those of a key only in positions that are out where ``out``.

    Contacts of relays and outputs count as closed: what a unit or a relay holds on is another rule's to judge.
    """
    merged: DisjointSet[str] = DisjointSet()
    for branch in circuit.branches:
        guard = branch.guard
        shut = out and isinstance(guard, InPosition) and guard.control in keys and not guard.positions & set(KEY_OUT)
        if not shut and (branch.branch_type.conductor or branch.branch_type in _OPENS):
            merged.merge(branch.a, branch.b)
    return merged


RULE = Rule(
    name="supply-behind-key",
    level=Level.ERROR,
    family="behaviour",
    stage=Stage.TOPOLOGY,
    root_cause=True,
    catches="a unit's supply with an `asleep` current that is dead with the ignition off",
    why="""A unit with a sleep current needs a permanent feed from the battery: behind the key it loses its clock and
    its codes, cannot finish what it does after the engine has stopped, and restarts at each turn of the key.""",
    source="Loomwright's analysis: contacts of the key count in the positions off, lock and park only",
    cautions="A permanent supply is live with the key off and needs its own fuse at the battery: disconnect the "
    "grounded lead of the battery before you connect it.",
    says={
        "dead": "{terminal} is the permanent supply[ `{supply}`] of {unit} (`asleep`) and is dead with {keys} off",
    },
    fixes={
        "dead": "feed {terminal} from ahead of {keys}, through a fuse; where {unit} needs no permanent supply, delete "
        "`asleep`",
    },
    find=find,
)
