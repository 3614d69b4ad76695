"""The windings of a harness as coils, from what its text says of them; and what it would have to say.

Volts with nothing on it and amps into an ammeter decide a winding. Of one whose watts alone are written the most power
is taken to be those; that tells the volts of lamps at running and most speed, and no more.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final, Literal

from ...lang.circuit.ids import BranchId, End, Role
from ...lang.model.parts import Source
from ...lang.records import dataclass
from .coils import Impedance, from_watts, impedance
from .rectified import direct_amps

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from ...lang.circuit.branch import Supply
    from ...lang.circuit.circuit import Circuit
    from ...lang.model.parts import Measured, Winding
    from .rectified import Kind

TAPPED: Final = 0.95
"""Coupling of the two parts of a tapped winding, of 1 (ours)."""

ON_ONE_CORE: Final = 0.5
"""Coupling of two windings on one core, of 1 (ours)."""

CENTRE: Final = 0.5
"""Where a tap is of which nothing is known, as a share of the turns (ours)."""

HOW_TO_MEASURE: Final = (
    "resistance with the engine stopped and its plug off; open-circuit voltage with a meter on AC volts across the "
    "winding, its plug off, engine at running speed; short-circuit current with an ammeter for AC across its ends at "
    "the same speed; where the kill wire is in that plug too, bridge its way first, or no switch stops the engine; "
    "clip the meter on before the start, and keep hands off while it turns: a winding may give over 60 V, an exciter "
    "several hundred; measure an exciter on a test bench, since the engine does not run without it"
)
"""How to come by what a winding's line may say."""

OPEN: Final = "open-circuit voltage"
SHORT: Final = "short-circuit current"
BOTH: Final = "open-circuit voltage and short-circuit current"


@dataclass(frozen=True, slots=True)
class CoilOf:
    """A coil of a harness: between which terminals, its figures at running speed. ``winding`` is the branch whose
    current it carries; ``core``: coils with the same one are coupled, those of one ``tapped`` winding closely.

    ``estimated``: from watts, so that it decides little.
    """

    winding: BranchId
    top: End
    bottom: End
    is_: Impedance
    core: str
    tapped: str = ""
    estimated: bool = False


@dataclass(frozen=True, slots=True)
class Wanted:
    """A figure that a winding lacks: ``what`` to measure, ``decides`` nothing or less of its loads without."""

    winding: BranchId
    what: str
    instead: str = ""


def key_of(part: str, winding: Winding) -> BranchId:
    """The branch of a winding."""
    return BranchId(part, Role.WINDING, winding.name)


def sources(circuit: Circuit) -> tuple[Source, ...]:
    """The alternators of a circuit."""
    parts = circuit.harness.parts.values()
    return tuple(p for p in parts if isinstance(p, Source) and p.what == "alternator" and p.name not in circuit.removed)


def from_measured(measured: Measured, watts: float | None, volts: float) -> tuple[Impedance, bool] | None:
    """A winding's figures and whether they are estimated; ``None`` where too little is known. ``volts``: the system's.

    Most power of a winding is half of its open-circuit voltage times its short-circuit current, but for its resistance.
    """
    open_volts, short_amps = measured.volts, measured.amps
    if open_volts is not None and short_amps is not None:
        return impedance(open_volts, short_amps, measured.ohms), False
    if watts is None:
        return None
    if open_volts is not None:
        return impedance(open_volts, 2.0 * watts / open_volts, measured.ohms), True
    if short_amps is not None:
        return impedance(2.0 * watts / short_amps, short_amps, measured.ohms), True
    return from_watts(watts, volts), True


def lacks(measured: Measured) -> str:
    """What would have to be measured of a winding; empty where all is."""
    if measured.volts is None:
        return BOTH if measured.amps is None else OPEN
    return SHORT if measured.amps is None else ""


def coils_of(circuit: Circuit, source: Source) -> tuple[tuple[CoilOf, ...], tuple[Wanted, ...]]:
    """The coils of one alternator's windings, and what is wanted of those of which it is not all known."""
    known: dict[str, CoilOf] = {}
    found: list[CoilOf] = []
    wanted: list[Wanted] = []
    cores = _cores(source)
    present = [each for each in source.windings if key_of(source.name, each) in circuit.by_key]
    for winding in (each for each in present if len(each.terminals) == 2):
        key = key_of(source.name, winding)
        if lack := lacks(winding.measured):
            wanted.append(Wanted(key, lack, "its W" if winding.watts else ""))
        figures = from_measured(winding.measured, winding.watts, circuit.harness.volts)
        if figures is None:
            continue
        top, bottom = (End(source.name, terminal) for terminal in winding.terminals)
        coil = CoilOf(key, top, bottom, figures[0], cores[winding.name], estimated=figures[1])
        known[winding.name] = coil
        found.append(coil)
    for winding in (each for each in present if len(each.terminals) == 3):
        made, missing = _tapped(source, winding, known, cores, circuit.harness.volts)
        found.extend(made)
        wanted.extend(missing)
    return tuple(found), tuple(wanted)


def _tapped(
    source: Source, winding: Winding, known: Mapping[str, CoilOf], cores: Mapping[str, str], volts: float
) -> tuple[tuple[CoilOf, ...], tuple[Wanted, ...]]:
    """The coils of a winding with a tap: what lies beyond another winding between tap and common end, or two parts."""
    key, core = key_of(source.name, winding), cores[winding.name]
    whole, tap, common = (End(source.name, terminal) for terminal in winding.terminals)
    lack = lacks(winding.measured)
    figures = from_measured(winding.measured, winding.watts, volts)
    inner = next((name for name, coil in known.items() if {coil.top, coil.bottom} == {tap, common}), None)
    if inner is not None:
        below = known[inner]
        open_volts = winding.measured.volts
        if open_volts is None or open_volts <= below.is_.volts:
            return (), (Wanted(key, OPEN),)
        rest = below.is_.of_turns((open_volts - below.is_.volts) / below.is_.volts)
        if winding.measured.ohms is not None and winding.measured.ohms > below.is_.ohms:
            rest = Impedance(rest.volts, winding.measured.ohms - below.is_.ohms, rest.reactance)
        reversed_ = below.top == common
        ends = (tap, whole) if reversed_ else (whole, tap)
        return (CoilOf(key, *ends, rest, core, f"{source.name}.{inner}", below.estimated),), ()
    if figures is None:
        return (), (Wanted(key, lack),)
    of_all, estimated = figures
    # L goes with the square of the turns, and twice what couples the two parts comes to it.
    turns = of_all.reactance / (1.0 - 2.0 * (1.0 - TAPPED) * CENTRE * (1.0 - CENTRE))
    half = Impedance(of_all.volts * CENTRE, of_all.ohms * CENTRE, turns * CENTRE**2)
    name = f"{source.name}.{winding.name}"
    made = (
        CoilOf(key, whole, tap, half, core, name, estimated),
        CoilOf(key, tap, common, half, core, name, estimated),
    )
    missing = (Wanted(key, lack, "its W" if winding.watts else ""),) if lack else ()
    return made, (*missing, Wanted(key, "open-circuit voltage between tap and common end", "the tap in the middle"))


def _cores(source: Source) -> dict[str, str]:
    """For each winding the name of the first one on its core: those that say so, and those that share a tap."""
    leader = {each.name: each.name for each in source.windings}

    def first(name: str) -> str:
        while leader[name] != name:
            name = leader[name]
        return name

    for one in source.windings:
        for other in source.windings:
            tapped = len(one.terminals) == 3 and len(other.terminals) == 2
            if one.core == other.name or (tapped and set(other.terminals) == set(one.terminals[1:])):
                leader[first(one.name)] = first(other.name)
    return {name: f"{source.name}.{first(name)}" for name in leader}


def couplings(coils: tuple[CoilOf, ...]) -> Iterator[tuple[int, int, float]]:
    """The pairs of coils on one core, by index, with their coupling."""
    for i, one in enumerate(coils):
        for j, other in enumerate(coils[:i]):
            if one.core == other.core:
                close = one.tapped and (one.tapped in (other.tapped, str(other.winding)))
                yield j, i, TAPPED if close or (other.tapped and other.tapped == str(one.winding)) else ON_ONE_CORE


def speed_of(source: Source, engine: str) -> float | None:
    """The speed of an alternator as a share of running; ``None`` where it is at rest, or kicked over."""
    idle, most = source.speeds
    return {"idling": idle, "running": 1.0, "fast": most}.get(engine)


@dataclass(frozen=True, slots=True)
class StatorOf:
    """What a rectifier is on: an alternator that was measured, how many phases and diodes take part, and the figures
    between two leads. ``kind``: ``nothing`` where no two leads are apart, ``unsolved`` where several things are wrong.
    """

    source: Source
    kind: Kind | Literal["nothing", "unsolved"]
    line: Impedance

    def direct_amps(self, volts: float, speed: float) -> float:
        """Mean A into direct ``volts`` at a ``speed`` as a share of running."""
        if self.kind == "nothing" or self.kind == "unsolved":
            return 0.0
        return direct_amps(self.kind, self.line, volts, speed)


def stator_of(circuit: Circuit, supply: Supply) -> StatorOf | None:
    """The measured stator behind a rectifier, as the text has it; ``None`` where none was measured, or several are."""
    if not supply.phases:
        return None
    measured = [
        source for source in sources(circuit) if source.measured.volts is not None and source.measured.amps is not None
    ]
    if len(measured) != 1:
        return None
    source = measured[0]
    if len(source.phases) == 2:
        known = from_measured(source.measured, None, circuit.harness.volts)
        return None if known is None else StatorOf(source, "single", known[0])
    line = stator_impedance(source.measured)
    return None if line is None else StatorOf(source, "three", line)


def short_amps(stator: StatorOf, speed: float) -> float:
    """A rms in each lead of a stator with all of them shorted together, at a speed as a share of running."""
    size = math.hypot(stator.line.ohms, speed * stator.line.reactance)
    return speed * stator.line.volts / size * (2.0 / math.sqrt(3.0) if stator.kind == "three" else 1.0)


def stator_impedance(measured: Measured) -> Impedance | None:
    """What is between two leads of a measured stator, as ``direct_amps`` asks for it: V and ohm between two leads."""
    if measured.volts is None or measured.amps is None:
        return None
    size = 2.0 / math.sqrt(3.0) * measured.volts / measured.amps
    return impedance(measured.volts, measured.volts / size, measured.ohms)
