"""A regulator with its feed and the field exchanged."""

from __future__ import annotations

from collections.abc import Iterator

from ...lang.model import Regulator, Source
from ..examination import Examination
from ..finding import Finding, Level
from ..rule import Rule


def find(examination: Examination) -> Iterator[Finding]:
    parts = examination.harness.parts.values()
    machines = [part for part in parts if isinstance(part, Source) and part.field_winding]
    for part in parts:
        if not isinstance(part, Regulator) or not part.passes:
            continue
        enters, leaves = (f"{part.name}.{terminal}" for terminal in part.passes)
        if not examination.copper.is_wired((enters, leaves)):
            continue  # loose-end says so
        for machine in machines:
            field = machine.field_winding
            if field and (end := _wrong(examination, enters, leaves, machine.name, (field.plus, field.minus))):
                terminal, at = end
                yield Finding(
                    rule=RULE.name,
                    level=RULE.level,
                    message=f"the field of {machine.name} is on the wrong side of {part.name}: {terminal} is connected "
                    f"to {at}, and {part.name} passes current from {enters} to {leaves}",
                    span=part.span,
                    about=(part.name, machine.name),
                    path=(terminal, at),
                    source=RULE.source,
                    remedy=f"swap the wires at {enters} and {leaves}",
                )


def _wrong(
    examination: Examination, enters: str, leaves: str, machine: str, field: tuple[str, str]
) -> tuple[str, str] | None:
    """The end of the field that is on the wrong side, and where; ``None`` where neither is.

    Current goes from the + of the field to its -, and through the regulator from ``enters`` to ``leaves``: a field
    is behind its regulator by its +, or before it by its -. With a positive ground the same words hold, since both
    pairs are written from + to -.
    """
    joined, ground = examination.copper.fused, examination.circuit.ground
    plus, minus = (f"{machine}.{terminal}" for terminal in field)
    if joined.same(leaves, plus) or joined.same(enters, minus):
        return None
    if joined.same(enters, plus) and not joined.same(plus, ground):
        return plus, enters
    if joined.same(leaves, minus) and not joined.same(minus, ground):
        return minus, leaves
    return None


RULE = Rule(
    name="exchanged-field",
    level=Level.ERROR,
    family="behaviour",
    catches="a field regulator with the field on the side where its feed belongs",
    why="""A field regulator lets current through one way, from its feed to the field. With the two leads exchanged an
    electronic one blocks or is destroyed, and one with contacts regulates by the wrong voltage: the machine
    charges nothing, or as much as it can.""",
    source="ours: which terminals copper connects to the field winding",
    bad="""
loom "Exchanged field"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 15 A blade at tray
switch KEY 10 A key at tray for supply { off: ; on: 30 15 }
ground FRAME at tray
source ALT alternator at tray for charging { output 150 W: B+ B-; field 6 ohm: DF 31; idle 70 W }
regulator REG 5 A at tray for charging { passes: D+ DF; sense: D+ D-; regulated 14.2 V }
wire 1 BAT.+ to MAIN.1 red 4 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 4 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
wire 4 ALT.B+ to MAIN.2 red/white 4 mm2 0.30 m
wire 5 ALT.B- to FRAME black 4 mm2 0.20 m
wire 6 KEY.15 to REG.DF orange 2.5 mm2 0.30 m
wire 7 REG.D+ to ALT.DF brown 2.5 mm2 0.30 m
wire 8 REG.D- to FRAME black 2.5 mm2 0.20 m
wire 9 ALT.31 to FRAME black 2.5 mm2 0.20 m
""",
    good="""
loom "A field that is fed first and regulated in its ground lead"
system 12 V negative ground
wires class B
place tray
source BAT battery at tray for supply { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 15 A blade at tray
switch KEY 10 A key at tray for supply { off: ; on: 30 15 }
ground FRAME at tray
source ALT alternator at tray for charging { output 150 W: B+ B-; field 6 ohm: F1 F2; idle 70 W }
regulator REG 5 A at tray for charging { passes: DF D-; sense: S D-; regulated 14.2 V }
wire 1 BAT.+ to MAIN.1 red 4 mm2 0.15 m
wire 2 MAIN.2 to KEY.30 red/white 4 mm2 0.30 m
wire 3 BAT.- to FRAME black 6 mm2 0.20 m
wire 4 ALT.B+ to MAIN.2 red/white 4 mm2 0.30 m
wire 5 ALT.B- to FRAME black 4 mm2 0.20 m
wire 6 KEY.15 to ALT.F1 orange 2.5 mm2 0.30 m
wire 7 REG.DF to ALT.F2 brown 2.5 mm2 0.30 m
wire 8 REG.D- to FRAME black 2.5 mm2 0.20 m
wire 9 KEY.15 to REG.S orange 2.5 mm2 0.20 m
""",
    find=find,
)
