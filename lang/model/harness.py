"""The harness as the language means it: frozen, typed, SI units, every name resolved.

Text becomes these dataclasses (``lang.files.reading``), these become a circuit (``lang.circuit.build``).
Nothing here knows syntax.
Volts, amps, watts, ohms, farads, metres, square millimetres, ampere-hours, seconds, degrees Celsius are plain floats;
a rating that the text leaves out is ``None`` (what could not be judged for want of it is listed, never passed over).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import field
from typing import Literal

from ..diagnostics.diagnostic import Diagnostic, Span
from ..records import dataclass
from .bench import Fitting
from .parts import Mount, Part, Place
from .statements import Conversion, Expectation, House, Judgement, State, Waiver
from .wires import Bundle, Capped, Route, Segment, Wire


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
    fitting: Fitting = field(default_factory=Fitting)
    states: dict[str, State] = field(default_factory=dict)
    expectations: tuple[Expectation, ...] = ()
    waivers: tuple[Waiver, ...] = ()
    judgements: tuple[Judgement, ...] = ()
    house: House = field(default_factory=House)
    conversion: Conversion = field(default_factory=Conversion)

    @property
    def segments(self) -> tuple[Segment, ...]:
        """Every stretch of conductor, in the order of the text."""
        return tuple(segment for wire in self.wires.values() for segment in wire.segments)

    def bundles_of(self, wire: str) -> tuple[Bundle, ...]:
        """The pairs and screens that a wire is in, in the order of the text."""
        return tuple(bundle for bundle in self.bundles if wire in bundle.wires)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """What reading a file gave: a harness as far as it could be resolved, every mistake, and the texts by file name.

    ``harness`` holds only what was understood; where ``mistakes`` is not empty, reports must say what was not checked.
    ``old`` reads the harness that this one converts, when it is asked for; ``None`` where it converts none. It raises
    ``UnreadableError`` where that file cannot be read. ``lacking`` names the used files that could not be read: they
    may be there later.
    """

    harness: Harness
    mistakes: tuple[Diagnostic, ...]
    texts: dict[str, str]
    lacking: tuple[str, ...] = ()
    old: Callable[[], Reading] | None = None
