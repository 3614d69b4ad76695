"""A contact or a relay that has no effect."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.circuit.branch import InPosition, Pulled
from ....lang.circuit.branch_types import BranchType
from ....lang.circuit.circuit import Circuit
from ....lang.circuit.ids import End
from ....lang.model.parts import Relay, Switch, Unit
from ...behaviour import Question
from ...behaviour.keys import stop_controls
from ...behaviour.stopping import ignition_parts
from ...findings.finding import Finding, Level
from ...rule import Rule
from ...study import Study


def find(study: Study) -> Iterator[Finding]:
    circuit = study.circuit
    moved: dict[str, list[str]] = {}
    for branch in circuit.branches:
        if (
            branch.branch_type is BranchType.CONTACT
            and branch.guard is not None
            and _wired(circuit, branch.a, branch.b, branch.part)
        ):
            moved.setdefault(branch.part, []).append(branch.key)
    answering = _answering(study)
    guards = frozenset(control.switch for control in stop_controls(study.behaviour.network))
    for name, contacts in moved.items():
        part = study.harness.parts[name]
        if not isinstance(part, (Switch, Relay)) or _matters(circuit, name, contacts, answering):
            continue
        senses = (part.senses or "") if isinstance(part, Switch) else ""
        yield RULE.found(
            "no-effect",
            part.span,
            facts={"part": name, "contacts": tuple(contacts), "senses": senses},
            about=(name,),
            # What stops the engine or watches something is never to be taken out.
            fix="stop" if name in guards else "sensor" if senses else "other",
        )


def _wired(circuit: Circuit, a: str, b: str, part: str) -> bool:
    return all(
        any(b.part != part or b.branch_type is BranchType.MOUNT for b in circuit.at.get(node, ())) for node in (a, b)
    )


def _matters(circuit: Circuit, part: str, contacts: list[str], answering: dict[str, set[str]]) -> bool:
    """Whether anything that the harness does depends on a part's contacts, its own coil left aside."""
    guards = {circuit.by_key[key].guard for key in contacts}
    names = {g.control for g in guards if isinstance(g, InPosition)}
    names |= {f"{g.relay} pulled" for g in guards if isinstance(g, Pulled)}
    return any(answering.get(name, set()) - {part} for name in names)


def _answering(study: Study) -> dict[str, set[str]]:
    """For each control and condition the parts that answer to it: their consumers, inputs and stop leads."""
    found: dict[str, set[str]] = {}
    for part, asked in _asked(study):
        for name in study.behaviour.depends_in_the_end(asked):
            found.setdefault(name, set()).add(part)
    return found


def _asked(study: Study) -> Iterator[tuple[str, Question]]:
    """Everything that something in the harness answers to, with the part; the coil of a relay is the relay's."""
    behaviour = study.behaviour
    for branch in behaviour.consumers:
        yield branch.part, behaviour.live(branch.key)
        yield branch.part, behaviour.reached_through_loads(branch.key)
        yield branch.part, behaviour.fed(branch.a)  # connected to nothing without a ground return, and fed all the same
        yield branch.part, behaviour.fed(branch.b)
    for part in ignition_parts(behaviour.network):
        yield part.name, behaviour.runs(part.name)
    for part in study.harness.parts.values():
        if isinstance(part, Unit):
            for given in part.inputs:
                node = End(part.name, given.terminal)
                yield part.name, behaviour.fed(node)
                yield part.name, behaviour.grounded(node)
                if given.back:
                    yield part.name, behaviour.joined(node, End(part.name, given.back))


RULE = Rule(
    name="unswitched-part",
    level=Level.NOTE,
    family="behaviour",
    catches="a contact or relay that changes nothing: no load, input or kill wire depends on it, from any source taken "
    "alone",
    why="""A relay that a wire bypasses, or a switch whose lamp was wired around it long ago, clicks and has no effect.
    That is noticed when somebody relies on it. Every load, input and kill wire is tested for whether it depends on the
    contact.""",
    source="Loomwright's analysis: what each answer depends on, by the paths between its terminals and the poles",
    says={"no-effect": "{part} has no effect: {contacts} {contacts:controls|control} no load, input or kill wire"},
    fixes={
        "stop": "find the wire that bypasses {part}, or the circuit that it should switch: {part} is there to stop the "
        "engine",
        "sensor": "find the wire that bypasses {part}, or the circuit that it should switch: {part} is there to "
        "sense `{senses}`",
        "other": "find the wire that bypasses {part}, or remove {part}",
    },
    find=find,
)
