"""A contact or a relay that changes nothing."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.circuit import Circuit, InPosition, Law, Pulled
from ...lang.model import Relay, Switch, Unit
from ..behaviour import AtPole, JoinedInSeries, Linked, Question, Runs, ThroughLoads
from ..behaviour.proofs import ignition_parts
from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    circuit = examination.circuit
    moved: dict[str, list[str]] = {}
    for branch in circuit.branches:
        if branch.law is Law.CONTACT and branch.guard is not None and _wired(circuit, branch.a, branch.b, branch.part):
            moved.setdefault(branch.part, []).append(branch.key)
    answering = _answering(examination)
    for name, contacts in moved.items():
        part = examination.harness.parts[name]
        if not isinstance(part, (Switch, Relay)) or _matters(circuit, name, contacts, answering):
            continue
        yield Finding(
            rule=RULE.name,
            level=RULE.level,
            message=f"{name} changes nothing: no consumer, input or stop depends on {' or '.join(contacts)}",
            span=part.span,
            about=(name,),
            source=RULE.source,
            remedy="take it out, or look for the wire that joins its two sides past it",
        )


def _wired(circuit: Circuit, a: str, b: str, part: str) -> bool:
    return all(any(b.part != part or b.law is Law.MOUNT for b in circuit.at.get(node, ())) for node in (a, b))


def _matters(circuit: Circuit, part: str, contacts: list[str], answering: dict[str, set[str]]) -> bool:
    """Whether anything that the harness does depends on a part's contacts, its own coil left aside."""
    guards = {circuit.by_key[key].guard for key in contacts}
    names = {g.control for g in guards if isinstance(g, InPosition)}
    names |= {f"{g.relay} pulled" for g in guards if isinstance(g, Pulled)}
    return any(answering.get(name, set()) - {part} for name in names)


def _answering(examination: Examination) -> dict[str, set[str]]:
    """For each control and condition the parts that answer to it: their consumers, inputs and stop leads."""
    found: dict[str, set[str]] = {}
    for part, asked in _asked(examination):
        for name in examination.conduction.before(asked):
            found.setdefault(name, set()).add(part)
    return found


def _asked(examination: Examination) -> Iterator[tuple[str, Question]]:
    """Everything that something in the harness answers to, with the part; the coil of a relay is the relay's."""
    conduction = examination.conduction
    for branch in conduction.consumers:
        yield branch.part, JoinedInSeries(branch.key)
        yield branch.part, ThroughLoads(branch.key)
        yield branch.part, AtPole(branch.a, feed=True)  # joined to nothing without a way back, and fed all the same
        yield branch.part, AtPole(branch.b, feed=True)
    for part in ignition_parts(conduction.network):
        yield part.name, Runs(part.name)
    for part in examination.harness.parts.values():
        if isinstance(part, Unit):
            for given in part.inputs:
                node = f"{part.name}.{given.terminal}"
                yield part.name, AtPole(node, feed=True)
                yield part.name, AtPole(node, feed=False)
                if given.back:
                    yield part.name, Linked(node, f"{part.name}.{given.back}")


RULE = Rule(
    name="unswitched-part",
    level=Level.NOTE,
    family="behaviour",
    catches="a contact or relay that changes nothing at any consumer, by any single source",
    why="""A relay beside a wire that joins its two sides, or a switch whose lamp has long been wired past it, works
    and does nothing. It is found when somebody trusts it. Every consumer, input and stop lead is asked
    whether it depends on the contact.""",
    source="ours: what each answer depends on, by the paths between its terminals and the poles",
    bad="""
loom "Unswitched part"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray for supply { off: ; on: 30 15 }
ground FRAME at tray
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 2 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
load LAMP lamp at tray for lighting { lamp 21 W: 1 2 }
relay K 20 A at tray for lighting { coil 85 ohm: 86 85; released: ; pulled: 30 87 }
switch NIGHT 2 A at tray for lighting { off: ; on: 1 2 }
splice SP at tray
wire 4 KEY.15 to SP orange 2 mm2 0.20 m
wire 5 SP to NIGHT.1 orange 1 mm2 0.20 m
wire 6 NIGHT.2 to K.86 white 1 mm2 0.20 m
wire 7 K.85 to FRAME black 1 mm2 0.20 m
wire 8 SP to K.30 orange 2 mm2 0.20 m
wire 9 K.87 to LAMP.1 blue 2 mm2 0.20 m
wire 10 LAMP.2 to FRAME black 2 mm2 0.20 m
wire 11 SP to LAMP.1 orange 2 mm2 0.20 m
""",
    good="""
loom "Unswitched part, near miss"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 10 A blade at tray
switch KEY 10 A key at tray for supply { off: ; on: 30 15 }
ground FRAME at tray
wire 1 BAT.+ to MAIN.1 red 2 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 2 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
load LAMP lamp at tray for lighting { lamp 21 W: 1 2 }
relay K 20 A at tray for lighting { coil 85 ohm: 86 85; released: ; pulled: 30 87 }
switch NIGHT 2 A at tray for lighting { off: ; on: 1 2 }
splice SP at tray
wire 4 KEY.15 to SP orange 2 mm2 0.20 m
wire 5 SP to NIGHT.1 orange 1 mm2 0.20 m
wire 6 NIGHT.2 to K.86 white 1 mm2 0.20 m
wire 7 K.85 to FRAME black 1 mm2 0.20 m
wire 8 SP to K.30 orange 2 mm2 0.20 m
wire 9 K.87 to LAMP.1 blue 2 mm2 0.20 m
wire 10 LAMP.2 to FRAME black 2 mm2 0.20 m
""",
    find=find,
)
