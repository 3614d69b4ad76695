"""Parts: what is on a motorcycle, with its elements and terminals. SI units."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from ..diagnostics.diagnostic import Span
from ..records import dataclass
from .conditions import Condition, Pair

if TYPE_CHECKING:
    from ..vocabulary.kinds import What


# --- places ----------------------------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class Place:
    name: str
    span: Span
    wet: bool = False


# --- parts -----------------------------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """What every part has. ``terminals`` in the order in which the text first names them.

    ``leg`` in m: from the branch of the loom at its place to its terminals, ``None`` where left out.

    ``system`` is the word after ``for``; ``was`` what the old harness calls it. ``always``: it may be live with the key
    out; ``always_in``: only while that control, a key, is in that position.
    """

    kind: str
    name: str
    span: Span
    terminals: tuple[str, ...] = ()
    places: tuple[str, ...] = ()
    leg: float | None = None
    system: str | None = None
    kept: bool = False
    was: str | None = None
    always: bool = False
    always_in: tuple[str, str] | None = None
    label: str | None = None
    pattern: str | None = None

    @property
    def place(self) -> str | None:
        """The part's place; for a ground with several studs, the first."""
        return self.places[0] if self.places else None

    def shown_at(self, line: Span) -> Span:
        """Where to point at something that a line of a block says of this part.

        A pattern's line is shared by many parts, and may come with the tool: the part's own line is the one to fix.
        """
        return line if self.pattern is None else self.span


@dataclass(frozen=True, slots=True, kw_only=True)
class Output:
    """Where a machine gives current: ``+`` and ``-`` terminals, and watts at running, idling and cranking speed."""

    plus: str
    minus: str
    span: Span
    watts: float | None = None
    idle: float | None = None
    cranking: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """An alternator's field winding: must be fed from ``plus`` before the machine charges."""

    plus: str
    minus: str
    span: Span
    ohms: float | None = None


@dataclass(frozen=True, slots=True)
class Measured:
    """What is measured of a winding at running speed: V rms with nothing on it, A rms into an ammeter, ohm at rest.

    Of three phases: V and ohm between two leads, A in each lead with all three shorted together.
    """

    volts: float | None = None
    amps: float | None = None
    ohms: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Winding:
    """A stator winding that gives alternating current. ``terminals``: two, or three with a tap in the middle: its whole
    end, the tap, the common end. ``core``: the winding that it shares its core with.
    """

    name: str
    terminals: tuple[str, ...]
    span: Span
    watts: float | None = None
    floating: bool = False
    measured: Measured = Measured()
    core: str | None = None


USUAL_SPEEDS = (0.3, 1.8)
"""Idling and most speed, as shares of running, where the text does not say (ours)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Source(Part):
    """A battery, an alternator or a dynamo. A battery's terminals are ``+`` and ``-``.

    ``measured`` is of its ``phases``; ``speeds`` are idling and most speed as shares of running.
    """

    what: Literal["battery", "alternator", "dynamo"]
    lithium: bool = False
    output: Output | None = None
    field_winding: Field | None = None
    phases: tuple[str, ...] = ()
    measured: Measured = Measured()
    windings: tuple[Winding, ...] = ()
    speeds: tuple[float, float] = USUAL_SPEEDS
    volts: float | None = None
    amp_hours: float | None = None
    ohms: float | None = None
    regulated: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rectifier(Part):
    """Diodes elsewhere than the alternator. A source while the engine turns and its phases reach an alternator's.

    ``control``: its regulator shorts the phases (``shunt``) or opens their way (``series``); ``None`` where unsaid.
    """

    phases: tuple[str, ...] = ()
    output: Output | None = None
    trio: str | None = None
    amps: float | None = None
    control: Literal["shunt", "series"] | None = None
    regulated: float | None = None

    @property
    def shunt(self) -> bool:
        """Whether the text says that its regulator shorts the phases."""
        return self.control == "shunt"


@dataclass(frozen=True, slots=True, kw_only=True)
class Regulator(Part):
    """A field regulator (``passes``), its ``sense`` pair, a ``cut_out`` that joins one way, a lighting ``shunts``."""

    amps: float | None = None
    passes: Pair | None = None
    sense: Pair | None = None
    cut_out: Pair | None = None
    cut_out_volts: float | None = None
    shunts: Pair | None = None
    shunt_volts: float | None = None
    regulated: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Capacitor(Part):
    farads: float | None = None
    volts: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Diode(Part):
    """Terminals ``A`` (anode) and ``K`` (cathode)."""

    amps: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Resistor(Part):
    ohms: float | None = None
    watts: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Meter(Part):
    amps: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Fuse(Part):
    """``amps`` is the continuous rating; ``blows`` what an old glass fuse is marked with, in A."""

    amps: float | None = None
    form: str | None = None
    blows: float | None = None
    sealed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Position:
    """One row of a contact table: the pairs of terminals that are joined in this position.

    ``stops``: by its name or by a word it is a position that stops the engine.
    """

    name: str
    pairs: tuple[Pair, ...]
    span: Span
    stops: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Switch(Part):
    """``rests`` is the position at rest. ``senses`` is the quantity that moves it, where no thumb does."""

    positions: tuple[Position, ...]
    rests: str
    amps: float | None = None
    key: bool = False
    momentary: bool = False
    senses: str | None = None

    @property
    def control(self) -> str:
        """The variable that moves it: the sensed quantity, shared by all that sense it, or the switch itself.

        What senses the crank keeps its own name: two contact breakers open at different moments.
        """
        return self.senses if self.senses and self.senses != "crank" else self.name


@dataclass(frozen=True, slots=True, kw_only=True)
class Coil:
    plus: str
    minus: str
    span: Span
    ohms: float | None = None
    watts: float | None = None
    amps: float | None = None
    rated_volts: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Relay(Part):
    """``pulls`` and ``holds`` in V: pull-in and drop-out of the coil. ``clamped``: a diode or resistor across it,
    and ``clamp`` which of the two where the text says so: with a diode the coil has a + side, its first terminal.
    """

    coil: Coil | None = None
    released: tuple[Pair, ...] = ()
    pulled: tuple[Pair, ...] = ()
    amps: float | None = None
    clamped: bool = False
    clamp: Literal["diode", "resistor"] | None = None
    sealed: bool = False
    pulls: float | None = None
    holds: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Flasher(Part):
    """``watts`` is the range of lamp load it works in, (least, most); one figure in the text gives both alike."""

    flash: Pair | None = None
    pilot: str | None = None
    supply: Pair | None = None
    watts: tuple[float, float] | None = None
    how: Literal["thermal", "electronic"] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Element:
    """One consumer inside a load.

    ``roles``: what law and good sense ask of it (``dip-beam``, ...). ``duty`` is a share of 1. ``needs`` V overrides
    the working share. ``rated_volts``: the V that it is made for, ``None`` where those are the system's.
    A part that has but one element may name it as it likes; ``LOAD`` alone then means it.

    ``dwell``: its duty is the share of time in which points are closed. ``henries`` is a primary's inductance.
    ``exciter``: it lives on an exciter winding; ``points``: a magneto's primary, which has its own contact and source.
    """

    name: str
    plus: str
    minus: str
    span: Span
    what: What
    watts: float | None = None
    amps: float | None = None
    ohms: float | None = None
    roles: tuple[str, ...] = ()
    duty: float = 1.0
    dwell: bool = False
    henries: float | None = None
    exciter: bool = False
    points: bool = False
    needs: float | None = None
    rated_volts: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Load(Part):
    """``stop_lead``: (lead, own return); the engine stops while the two are joined, both ways, or (``stop_half``) by
    what flows from lead to return alone.
    """

    elements: tuple[Element, ...] = ()
    what: str | None = None
    stop_lead: Pair | None = None
    stop_half: bool = False

    @property
    def is_ignition(self) -> bool:
        return self.what == "ignition" or any(e.what == "ignition" for e in self.elements)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sensor(Part):
    signal: Pair | None = None
    ohms: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitSupply:
    """``name`` is empty for the unit's first, unnamed supply. ``amps`` awake, ``asleep`` A asleep."""

    name: str
    plus: str
    minus: str
    span: Span
    amps: float | None = None
    asleep: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitInput:
    """``mode``: ``grounded`` (active on the unit's own ground), ``fed`` (to a feed pole) or ``signal``."""

    name: str
    terminal: str
    mode: Literal["grounded", "fed", "signal"]
    span: Span
    back: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitOutput:
    """From its supply to ``terminal`` (``grounded``: from ``terminal`` to the unit's ground) while ``when`` holds.

    Tests in ``when`` name inputs and latches of the unit, with an empty position; ``None`` means whenever powered. It
    comes on ``after`` s and ``holds`` for s; no clock runs in the logic, so both before and after count. ``pulsing`` is
    the share of 1 of the time in which it is on: its peak counts for wires, its mean for the charge balance. ``volts``
    is what a reference output gives, ``None`` where that is what its supply has.
    """

    name: str
    terminal: str
    span: Span
    when: Condition | None = None
    amps: float | None = None
    trips: float | None = None
    supply: str = ""
    flashing: bool = False
    grounded: bool = False
    clamped: bool = False
    holds: float | None = None
    after: float | None = None
    pulsing: float | None = None
    volts: float | None = None

    @property
    def passes_at_most(self) -> float | None:
        """A that flow behind it at most, whatever is shorted there: at which it trips, or the rating of a reference,
        which limits its own current (common practice, no source); ``None`` where nothing says that it does either.
        """
        return self.trips if self.trips is not None or self.volts is None else self.amps

    @property
    def is_timed(self) -> bool:
        """Whether it follows its condition late, so that what it does now depends on what was before."""
        return self.after is not None or (self.holds is not None and self.when is not None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Latch:
    """``toggles``: each time that ``set_when`` becomes true it changes, so that afterwards it may be either way."""

    name: str
    set_when: Condition
    cleared_when: Condition
    span: Span
    toggles: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Unit(Part):
    supplies: tuple[UnitSupply, ...] = ()
    inputs: tuple[UnitInput, ...] = ()
    outputs: tuple[UnitOutput, ...] = ()
    latches: tuple[Latch, ...] = ()
    commons: tuple[str, ...] = ()
    stop_lead: Pair | None = None
    stop_half: bool = False
    what: str | None = None

    @property
    def is_ignition(self) -> bool:
        return self.what == "ignition" or self.system == "ignition"


def stop_directions(part: Part) -> tuple[bool, ...]:
    """In which directions a stop lead must be on its return, seen from the return: to it (``False``), from it.

    One way is enough where the text says `half`: what flows from the lead to the return.
    """
    return (False,) if isinstance(part, Load | Unit) and part.stop_half else (False, True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Connector(Part):
    """Ways are named ``1`` to ``ways``; each has a socket half ``3s`` and a pin half ``3p``. ``amps`` is a way's.

    ``face`` are its rows from the mating side of the socket half, top row first; ``-`` is a gap.
    """

    ways: int
    amps: float | None = None
    sealed: bool = False
    spare: tuple[str, ...] = ()
    face: tuple[tuple[str, ...], ...] = ()

    @property
    def numbers(self) -> range:
        """The numbers of its ways."""
        return range(1, self.ways + 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Splice(Part):
    """Wires joined for good. Its one node is the part's own name. ``sealed``: under shrink that keeps water out."""

    sealed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground(Part):
    """A body of metal used as a return, a stud at each of ``places``. Its one node is the part's own name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mount:
    """A terminal returned through its mounting, or (``terminal`` empty) a ground bolted to another one.

    ``through``: bearings, paint, rubber, hinge, a joint not relied on.
    """

    part: str
    terminal: str
    ground: str
    span: Span
    through: str | None = None
