"""The harness as the language means it: frozen, typed, SI units, every name resolved.

Text becomes these dataclasses (``lang.reading``), these become a circuit (``lang.circuit``). Nothing here knows syntax.
Volts, amps, watts, ohms, farads, metres, square millimetres, ampere-hours, seconds, degrees Celsius are plain floats;
a rating that the text leaves out is ``None`` (what could not be judged for want of it is listed, never passed over).
"""

from __future__ import annotations

from dataclasses import field
from datetime import date
from typing import Literal

from .mistake import Mistake, Span
from .records import dataclass

Pair = tuple[str, str]
"""Two terminals of one part, by their names inside the part; the first is the + side wherever that matters."""

ENGINE_POSITIONS = ("off", "cranking", "idling", "running")
BY_ITSELF = ("idling", "running")
"""The positions in which the engine turns by itself, and whatever charges gives."""


# --- conditions ------------------------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class Test:
    """A control in a position (``KEY on``), or an input or latch of a unit by itself (``position`` is then empty)."""

    control: str
    position: str
    span: Span


@dataclass(frozen=True, slots=True)
class Not:
    term: Condition


@dataclass(frozen=True, slots=True)
class All:
    terms: tuple[Condition, ...]


@dataclass(frozen=True, slots=True)
class AnyOf:
    terms: tuple[Condition, ...]


Condition = Test | Not | All | AnyOf


# --- places ----------------------------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class Place:
    name: str
    span: Span
    wet: bool = False


@dataclass(frozen=True, slots=True)
class Route:
    """A stretch of the harness between two places. ``length`` in m; ``ambient`` in degC, ``None`` where left out."""

    a: str
    b: str
    length: float
    span: Span
    flexing: bool = False
    ambient: float | None = None


# --- parts -----------------------------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """What every part has. ``terminals`` in the order in which the text first names them.

    ``system`` is the word after ``for``; ``was`` what the old harness calls it. ``always``: it may be live with the key
    out; ``always_in``: only while that control, a key, is in that position.
    """

    kind: str
    name: str
    span: Span
    terminals: tuple[str, ...] = ()
    places: tuple[str, ...] = ()
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

        A pattern's line is shared by many parts, and may come with the tool: the part's own line is the one to mend.
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Winding:
    """A stator winding that gives alternating current. ``terminals``: two, or three with a tap."""

    name: str
    terminals: tuple[str, ...]
    span: Span
    watts: float | None = None
    floating: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Source(Part):
    """A battery, an alternator or a dynamo. A battery's terminals are ``+`` and ``-``."""

    what: Literal["battery", "alternator", "dynamo"]
    lithium: bool = False
    output: Output | None = None
    field_winding: Field | None = None
    phases: tuple[str, ...] = ()
    windings: tuple[Winding, ...] = ()
    volts: float | None = None
    amp_hours: float | None = None
    ohms: float | None = None
    regulated: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rectifier(Part):
    """Diodes elsewhere than the alternator. A source while the engine turns and its phases reach an alternator's."""

    phases: tuple[str, ...] = ()
    output: Output | None = None
    trio: str | None = None
    amps: float | None = None
    shunt: bool = False
    regulated: float | None = None


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

    ``what`` is lamp, led, motor, horn, solenoid, pump, heater, electronics or ignition; ``roles`` what law and good
    sense ask of it (``dip-beam``, ...). ``duty`` is a share of 1. ``needs`` V overrides the working share.
    ``rated_volts``: the V that it is made for, ``None`` where those are the system's.
    A part that has but one element may name it as it likes; ``LOAD`` alone then means it.
    """

    name: str
    plus: str
    minus: str
    span: Span
    what: str
    watts: float | None = None
    amps: float | None = None
    ohms: float | None = None
    roles: tuple[str, ...] = ()
    duty: float = 1.0
    needs: float | None = None
    rated_volts: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Load(Part):
    """``stop_lead``: (lead, own return); the engine stops while the two are joined."""

    elements: tuple[Element, ...] = ()
    what: str | None = None
    stop_lead: Pair | None = None

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
    """``mode``: ``grounded`` (active where joined to the unit's own ground), ``fed`` (to a feed pole) or ``signal``."""

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
    """``toggles``: each time that ``set_when`` becomes true it changes, so that afterwards it may stand either way."""

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
    what: str | None = None

    @property
    def is_ignition(self) -> bool:
        return self.what == "ignition" or self.system == "ignition"


@dataclass(frozen=True, slots=True, kw_only=True)
class Connector(Part):
    """Ways are named ``1`` to ``ways``; each has a socket half ``3s`` and a pin half ``3p``. ``amps`` is a way's."""

    ways: int
    amps: float | None = None
    sealed: bool = False
    spare: tuple[str, ...] = ()

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

    @property
    def bodies(self) -> str:
        """A name for the joint between two grounds."""
        return f"mount {self.part} to {self.ground}"


# --- wires -----------------------------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True)
class End:
    """Where a conductor ends. ``terminal`` is empty for a splice or a ground, ``3s``/``3p`` for half a way."""

    part: str
    terminal: str = ""

    @property
    def node(self) -> str:
        return f"{self.part}.{self.terminal}" if self.terminal else self.part


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """A conductor's cross-section. ``area`` in mm2; ``text`` as the first form of the language writes it."""

    area: float
    text: str
    standard: Literal["metric", "AWG", "strands"]
    gauge: int | None = None
    strands: int | None = None
    strand_diameter: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """A stretch of wire between two ends: a whole wire, or what lies between two ways of one that runs ``via`` some.

    ``length`` in m, ``None`` where neither written nor computable; ``written`` tells which. ``route`` names the places
    it passes, in order; ``ambient`` is the hottest on them (40 degC where none is given). ``wire_class`` is the ISO
    6722 letter that holds for it. ``studs`` gives for each end the place at which it is (for a ground, the stud's).
    """

    name: str
    wire: str
    a: End
    b: End
    span: Span
    colour: str | None = None
    size: Size | None = None
    length: float | None = None
    written: bool = False
    route: tuple[str, ...] = ()
    ambient: float = 40.0
    flexing: bool = False
    wire_class: str = "A"
    solid: bool = False
    studs: tuple[str | None, str | None] = (None, None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Wire:
    """A wire as the text has it. ``pieces`` holds one, or one more than the ways it runs through."""

    name: str
    a: End
    b: End
    span: Span
    pieces: tuple[Piece, ...]
    via: tuple[End, ...] = ()
    colour: str | None = None
    size: Size | None = None
    length: float | None = None
    wire_class: str | None = None
    solid: bool = False
    kept: bool = False
    was: str | None = None
    system: str | None = None
    label: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Bundle:
    """Wires that are ``twisted`` with each other, or ``shielded`` by one screen: they pick up less from beside them."""

    how: Literal["twisted", "shielded"]
    wires: tuple[str, ...]
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Capped:
    """An end that is meant to lie dead, insulated."""

    end: End
    span: Span


# --- states, expectations, waivers -----------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class State:
    """``settings`` maps a control (switch, sensed quantity, ``UNIT.latch`` or ``engine``) to its position.

    Switch names of the text are turned into their control (``Switch.control``); what is not named is at rest.
    """

    name: str
    settings: tuple[tuple[str, str], ...]
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """What is claimed of ``part`` (``element`` is ``None``: the part as a whole, or its only element).

    ``how`` is live, dead, at least or at most; ``unit`` V, A or W with ``value`` in it for the last two.
    """

    part: str
    element: str | None
    how: Literal["live", "dead", "at least", "at most"]
    span: Span
    value: float | None = None
    unit: Literal["V", "A", "W"] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Expectation:
    """Claims ``in`` a named state, or ``whenever`` a condition holds; ``without`` names parts or wires taken out."""

    claims: tuple[Claim, ...]
    span: Span
    state: str | None = None
    whenever: Condition | None = None
    without: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiver:
    """Findings of a rule on things named that are known to be no fault; ``rule_span`` is where it names the rule.

    ``state``: only those that name this state; ``None``: whatever they name.
    """

    rule: str
    names: tuple[str, ...]
    because: str
    span: Span
    until: date | None = None
    rule_span: Span | None = None
    state: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Judgement:
    """A rule judged otherwise than it comes: all its findings get ``level``, or are left out where that is ``off``."""

    rule: str
    level: Literal["error", "warning", "note", "off"]
    because: str
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Declared:
    """``changes X because`` or ``loses Y because``: a difference from the old harness that is meant."""

    how: Literal["changes", "loses"]
    names: tuple[str, ...]
    because: str
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Removed:
    names: tuple[str, ...]
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class Conversion:
    """What this harness says of the one it replaces. ``converts`` is that file's name, as written."""

    converts: str | None = None
    span: Span | None = None
    removed: tuple[Removed, ...] = ()
    declared: tuple[Declared, ...] = ()


# --- the house -------------------------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class HouseProfile:
    """Whose limits the shop works by: a profile's name, or (``is_file``) a file of its own, as seen from the one that
    says so (``span.file``)."""

    name: str
    is_file: bool
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseSize:
    size: Size
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseDrop:
    """``share`` of 1 of the battery's volts that may be lost."""

    share: float
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseColour:
    """A colour for ``function``: ``ground``, a role of an element or a system. Without a stripe, the base colour."""

    colour: str
    function: str
    span: Span


@dataclass(frozen=True, slots=True, kw_only=True)
class HouseConnector:
    """A family of connectors that the shop keeps; what is ``None`` may be any."""

    span: Span
    ways: int | None = None
    amps: float | None = None
    sealed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class House:
    """What a shop states for its harnesses; empty where it says nothing."""

    profile: HouseProfile | None = None
    smallest: HouseSize | None = None
    drop: HouseDrop | None = None
    colours: tuple[HouseColour, ...] = ()
    connectors: tuple[HouseConnector, ...] = ()


# --- the whole -------------------------------------------------------------------------------------------------------
@dataclass(frozen=True, slots=True, kw_only=True)
class Harness:
    """One motorcycle's harness. Mappings keep the order of the text; rules sort before they show."""

    file: str
    title: str | None = None
    volts: float = 12.0
    grounded: Literal["negative", "positive"] = "negative"
    system_span: Span | None = None
    places: dict[str, Place] = field(default_factory=dict)
    routes: tuple[Route, ...] = ()
    parts: dict[str, Part] = field(default_factory=dict)
    mounts: tuple[Mount, ...] = ()
    wires: dict[str, Wire] = field(default_factory=dict)
    capped: tuple[Capped, ...] = ()
    bundles: tuple[Bundle, ...] = ()
    states: dict[str, State] = field(default_factory=dict)
    expectations: tuple[Expectation, ...] = ()
    waivers: tuple[Waiver, ...] = ()
    judgements: tuple[Judgement, ...] = ()
    house: House = field(default_factory=House)
    conversion: Conversion = field(default_factory=Conversion)

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """Every stretch of conductor, in the order of the text."""
        return tuple(piece for wire in self.wires.values() for piece in wire.pieces)

    def bundles_of(self, wire: str) -> tuple[Bundle, ...]:
        """The pairs and screens that a wire is in, in the order of the text."""
        return tuple(bundle for bundle in self.bundles if wire in bundle.wires)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What reading a file gave: a harness as far as it could be resolved, every mistake, and the texts by file name.

    ``harness`` holds only what was understood; where ``mistakes`` is not empty, reports must say what was not checked.
    """

    harness: Harness
    mistakes: tuple[Mistake, ...]
    texts: dict[str, str]
