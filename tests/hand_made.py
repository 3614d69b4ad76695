"""Harnesses made by hand from the model's own records, for tests that want no text between."""

from __future__ import annotations

from hypothesis import strategies as st

from loomwright.lang.diagnostics.diagnostic import Span
from loomwright.lang.model.harness import Harness
from loomwright.lang.model.parts import (
    Diode,
    Element,
    Fuse,
    Ground,
    Load,
    Output,
    Part,
    Position,
    Source,
    Splice,
    Switch,
    Unit,
    UnitOutput,
    UnitSupply,
)
from loomwright.lang.model.wires import End, Segment, Wire
from loomwright.lang.quantities.size import Size

AT = Span("test.loom", 1, 1, 2)
TRIPS = st.sampled_from([None, 5.0, 7.5, 15.0])


def wire(name: str, a: str, b: str, metres: float | None = 1.0, area: float = 1.0) -> Wire:
    """A wire of one piece between two ends such as ``MAIN.1`` and ``SP``."""
    ends = [End(*end.split(".", 1)) for end in (a, b)]
    size = Size(area=area, text=f"{area:g} mm2", standard="metric")
    segment = Segment(wire=name, a=ends[0], b=ends[1], span=AT, size=size, length=metres)
    return Wire(name=name, a=ends[0], b=ends[1], span=AT, segments=(segment,), size=size, length=metres)


def harness(parts: list[Part], wires: list[Wire], grounded: str = "negative") -> Harness:
    return Harness(
        file="test.loom",
        grounded=grounded,  # type: ignore[arg-type]
        parts={part.name: part for part in parts},
        wires={each.name: each for each in wires},
    )


def battery(name: str = "BAT") -> Source:
    return Source(kind="source", name=name, span=AT, terminals=("+", "-"), what="battery")


def fuse(name: str, amps: float | None = 10.0) -> Fuse:
    return Fuse(kind="fuse", name=name, span=AT, terminals=("1", "2"), amps=amps)


def switch(name: str) -> Switch:
    rows = (Position(name="off", pairs=(), span=AT), Position(name="on", pairs=(("1", "2"),), span=AT))
    return Switch(kind="switch", name=name, span=AT, terminals=("1", "2"), positions=rows, rests="off")


def lamp(name: str, what: str = "lamp", system: str | None = None) -> Load:
    element = Element(name=what, plus="1", minus="2", span=AT, what=what, watts=21.0)
    return Load(kind="load", name=name, span=AT, terminals=("1", "2"), elements=(element,), system=system)


def unit(name: str, trips: float | None) -> Unit:
    return Unit(
        kind="unit",
        name=name,
        span=AT,
        terminals=("30", "31", "OUT"),
        supplies=(UnitSupply(name="", plus="30", minus="31", span=AT),),
        outputs=(UnitOutput(name="out", terminal="OUT", span=AT, trips=trips),),
    )


def dynamo(watts: float | None = 60.0) -> Source:
    output = Output(plus="D", minus="E", span=AT, watts=watts)
    return Source(
        kind="source", name="DYN", span=AT, terminals=("D", "E"), what="dynamo", output=output, regulated=15.0
    )


def splice(name: str) -> Splice:
    return Splice(kind="splice", name=name, span=AT)


def frame() -> Ground:
    return Ground(kind="ground", name="FRAME", span=AT)


# --- at random -------------------------------------------------------------------------------------------------------
ENDS = [f"SP{i}" for i in range(5)] + ["F1.1", "F1.2", "F2.1", "F2.2", "F3.1", "F3.2", "S1.1", "S1.2", "D1.A", "D1.K"]
ENDS += ["U1.30", "U1.OUT", "L1.1", "L1.2", "DYN.D"]


@st.composite
def harnesses(draw: st.DrawFn) -> Harness:
    """A battery, a dynamo and a few parts, wired together at random; what is grounded stays whole."""
    grounded = draw(st.sampled_from(["negative", "positive"]))
    parts: list[Part] = [battery(), frame(), dynamo(), switch("S1"), lamp("L1"), unit("U1", draw(TRIPS))]
    parts += [fuse(f"F{i}", draw(st.sampled_from([5.0, 10.0, 20.0, 30.0]))) for i in (1, 2, 3)]
    parts += [Diode(kind="diode", name="D1", span=AT, terminals=("A", "K"))]
    parts += [splice(f"SP{i}") for i in range(5)]
    feed, back = ("BAT.+", "BAT.-") if grounded == "negative" else ("BAT.-", "BAT.+")
    machine_back = "DYN.E" if grounded == "negative" else "DYN.D"
    wires = [wire("g1", back, "FRAME"), wire("g2", machine_back, "FRAME")]
    ends = [end for end in ENDS if end != machine_back] + (["DYN.E"] if grounded == "positive" else [])
    chosen = draw(st.lists(st.tuples(st.sampled_from([feed, *ends]), st.sampled_from(ends)), min_size=3, max_size=16))
    for i, (a, b) in enumerate(chosen):
        if a != b:
            wires.append(wire(f"w{i}", a, b, draw(st.sampled_from([0.1, 0.25, 0.5]))))
    return harness(parts, wires, grounded)
