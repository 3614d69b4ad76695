"""Random harnesses for tests: built of parts that a motorcycle has, wired at random but never short-circuited."""

from __future__ import annotations

from typing import TYPE_CHECKING

from hypothesis import strategies as st

from loomwright.lang.diagnostics.diagnostic import Span
from loomwright.lang.model.conditions import Test as Test_
from loomwright.lang.model.harness import Harness
from loomwright.lang.model.parts import (
    Coil,
    Diode,
    Element,
    Field,
    Fuse,
    Ground,
    Load,
    Output,
    Part,
    Position,
    Relay,
    Resistor,
    Source,
    Switch,
    Unit,
    UnitInput,
    UnitOutput,
    UnitSupply,
)
from loomwright.lang.model.statements import State
from loomwright.lang.model.wires import End, Segment, Wire
from loomwright.lang.quantities.size import Size

if TYPE_CHECKING:
    from hypothesis.strategies import DrawFn

AT = Span("random.loom", 1, 1, 2)
AREAS = (0.5, 0.75, 1.0, 1.5, 2.5, 4.0)
KINDS = ("lamp", "led", "motor", "horn", "solenoid", "pump", "heater", "electronics", "ignition")


def wire(name: str, a: str, b: str, area: float = 1.0, metres: float | None = 1.0) -> Wire:
    """A wire of one piece between two ends such as ``MAIN.1`` and ``SP``."""
    ends = [End(*end.split(".", 1)) for end in (a, b)]
    size = Size(area=area, text=f"{area:g} mm2", standard="metric")
    segment = Segment(wire=name, a=ends[0], b=ends[1], span=AT, size=size, length=metres)
    return Wire(name=name, a=ends[0], b=ends[1], span=AT, segments=(segment,), size=size, length=metres)


def switch(name: str, amps: float | None = 5.0, *, momentary: bool = False, key: bool = False) -> Switch:
    """A switch that joins 1 and 2 in its position ``on``."""
    positions = (Position(name="off", pairs=(), span=AT), Position(name="on", pairs=(("1", "2"),), span=AT))
    return Switch(
        kind="switch",
        name=name,
        span=AT,
        terminals=("1", "2"),
        positions=positions,
        rests="off",
        amps=amps,
        momentary=momentary,
        key=key,
    )


def load(name: str, what: str, **rating: float) -> Load:
    """A consumer with one element called ``x`` between its terminals 1 and 2."""
    element = Element(name="x", plus="1", minus="2", span=AT, what=what, **rating)  # type: ignore[arg-type]
    return Load(kind="load", name=name, span=AT, terminals=("1", "2"), elements=(element,))


def battery(volts: float = 12.6, hours: float = 14.0, ohms: float = 0.015) -> Source:
    return Source(
        kind="source",
        name="BAT",
        span=AT,
        terminals=("+", "-"),
        what="battery",
        volts=volts,
        amp_hours=hours,
        ohms=ohms,
    )


def alternator(*, field: bool) -> Source:
    return Source(
        kind="source",
        name="ALT",
        span=AT,
        terminals=("B+", "B-", "D+"),
        what="alternator",
        output=Output(plus="B+", minus="B-", span=AT, watts=200.0, idle=60.0),
        field_winding=Field(plus="D+", minus="B-", span=AT, ohms=6.0) if field else None,
        regulated=14.2,
    )


def harness(parts: list[Part], wires: list[Wire], states: list[State] | None = None) -> Harness:
    return Harness(
        file="random.loom",
        parts={part.name: part for part in parts},
        wires={each.name: each for each in wires},
        states={state.name: state for state in states or []},
    )


@st.composite
def harnesses(draw: DrawFn, most_loads: int = 8, *, through_loads: bool = True) -> Harness:
    """A battery, perhaps an alternator, and loads behind switches, relays, diodes, resistors and a unit's outputs.

    Returns run to common grounds; with ``through_loads`` also through one another, so that some loads feed others.
    """
    parts: list[Part] = [battery(), Fuse(kind="fuse", name="MAIN", span=AT, terminals=("1", "2"), amps=20.0)]
    wires: list[Wire] = []

    def join(a: str, b: str) -> None:
        metres = draw(st.sampled_from((0.1, 0.5, 1.0, 2.0)))
        wires.append(wire(str(len(wires) + 1), a, b, draw(st.sampled_from(AREAS)), metres))

    parts.extend(Ground(kind="ground", name=name, span=AT) for name in ("FRAME", "GROUND"))
    join("BAT.+", "MAIN.1")
    join("BAT.-", "FRAME")
    join("FRAME", "GROUND")
    parts.append(switch("KEY", 15.0, key=True))
    join("MAIN.2", "KEY.1")
    feeds = ["KEY.2"]
    controls = [("KEY", "on")]
    if draw(st.booleans()):
        field = draw(st.booleans())
        parts.append(alternator(field=field))
        join("ALT.B+", "MAIN.2")
        join("ALT.B-", "FRAME")
        if field:
            parts.append(load("CHARGE", "lamp", watts=3.0))
            join("KEY.2", "CHARGE.1")
            join("CHARGE.2", "ALT.D+")
    returns = ["FRAME", "GROUND"]
    for number in range(draw(st.integers(1, most_loads))):
        name = f"L{number}"
        what = draw(st.sampled_from(KINDS))
        how = draw(st.sampled_from(("watts", "amps", "ohms"))) if what not in ("lamp", "led") else "watts"
        rating = {
            "watts": draw(st.sampled_from((0.5, 3.0, 21.0, 55.0))),
            "amps": draw(st.sampled_from((0.05, 0.5, 4.0, 30.0))),
            "ohms": draw(st.sampled_from((3.4, 60.0, 680.0))),
        }[how]
        parts.append(load(name, what, **{how: rating}))
        feed = draw(st.sampled_from(feeds))
        via = draw(st.sampled_from(("wire", "switch", "relay", "diode", "resistor", "unit")))
        top = f"{name}.1"
        if via == "switch":
            parts.append(switch(f"S{number}", draw(st.sampled_from((None, 2.0, 10.0)))))
            controls.append((f"S{number}", "on"))
            join(feed, f"S{number}.1")
            join(f"S{number}.2", top)
        elif via == "relay":
            coil = Coil(plus="86", minus="85", span=AT, ohms=85.0)
            parts.append(Relay(kind="relay", name=f"K{number}", span=AT, coil=coil, pulled=(("30", "87"),), amps=30.0))
            parts.append(switch(f"S{number}", 2.0))
            controls.append((f"S{number}", "on"))
            join(feed, f"K{number}.30")
            join(f"K{number}.87", top)
            join(feed, f"S{number}.1")
            join(f"S{number}.2", f"K{number}.86")
            join(f"K{number}.85", draw(st.sampled_from(returns)))
        elif via == "diode":
            parts.append(Diode(kind="diode", name=f"D{number}", span=AT, terminals=("A", "K"), amps=3.0))
            turned = draw(st.booleans())
            join(feed, f"D{number}.{'K' if turned else 'A'}")
            join(f"D{number}.{'A' if turned else 'K'}", top)
        elif via == "resistor":
            ohms = draw(st.sampled_from((2.0, 47.0, 470.0)))
            parts.append(Resistor(kind="resistor", name=f"R{number}", span=AT, terminals=("1", "2"), ohms=ohms))
            join(feed, f"R{number}.1")
            join(f"R{number}.2", top)
        elif via == "unit":
            parts.append(switch(f"S{number}", 2.0))
            controls.append((f"S{number}", "on"))
            parts.append(
                Unit(
                    kind="unit",
                    name=f"U{number}",
                    span=AT,
                    supplies=(UnitSupply(name="", plus="30", minus="31", span=AT, amps=0.05, asleep=0.001),),
                    inputs=(UnitInput(name="in", terminal="I", mode="grounded", span=AT),),
                    outputs=(
                        UnitOutput(name="out", terminal="O", span=AT, when=Test_("in", "", AT), amps=10.0, trips=15.0),
                    ),
                )
            )
            join(feed, f"U{number}.30")
            join(f"U{number}.31", draw(st.sampled_from(returns)))
            join(f"S{number}.1", f"U{number}.I")
            join(f"S{number}.2", f"U{number}.31")
            join(f"U{number}.O", top)
        else:
            join(feed, top)
        join(f"{name}.2", draw(st.sampled_from(returns)))
        feeds.append(top)
        if through_loads:
            returns.append(f"{name}.2")
    states = []
    for number in range(2):
        engine = draw(st.sampled_from(("off", "running", "idling"))) if any(p.name == "ALT" for p in parts) else "off"
        chosen = tuple(c for c in controls if draw(st.booleans()))
        settings = (*chosen, ("engine", engine))
        states.append(State(name=f"s{number}", settings=settings, span=AT, in_numbers=settings))
    return harness(parts, wires, states)
