"""One harness under examination: the analyses that rules ask for, each worked out once and only when asked.

Rules see nothing else. What an analysis costs is paid by the first rule that needs it.
"""

from __future__ import annotations

from contextlib import contextmanager
from functools import cached_property
from typing import TYPE_CHECKING

from ..lang.circuit.build import build_circuit
from ..lang.circuit.circuit import Circuit
from .tables.profiles import DEFAULT, Profile
from .tally import Tally

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from contextlib import AbstractContextManager
    from datetime import date

    from ..lang.diagnostics.diagnostic import Span
    from ..lang.model.harness import Harness, Reading
    from .behaviour import Behaviour
    from .behaviour.lamp_roles import Misfed
    from .behaviour.properties import Properties
    from .behaviour.unjudged import Unjudged
    from .conductors.loading import Conductors
    from .conductors.stator_leads import Alternating
    from .conversion.comparison import Comparison
    from .kept import Kept
    from .logic import SwitchingLogic
    from .logic.connected import Copper
    from .operation.hard_start import HardStart
    from .operation.lamp_volts import WindingLamps
    from .operation.operation import Operation
    from .protection.protection import Protection


class Study:
    """A harness, its circuit, and its behaviour under one profile of published limits.

    ``today`` decides which waivers are past their date; it is given, never read from the clock, so that the same input
    gives the same answer. ``profile`` is judged by whatever the shop says; where it is ``None`` the shop's profile
    is, ``otherwise`` where that names none. ``old`` reads the harness that this one converts (``Reading.old``);
    without it nothing is stated of one. ``kept``: analyses of texts before this one, for whoever checks one text after
    another.
    """

    def __init__(
        self,
        harness: Harness,
        *,
        today: date,
        profile: Profile | str | None = None,
        otherwise: Profile | str = DEFAULT,
        old: Callable[[], Reading] | None = None,
        kept: Kept | None = None,
    ) -> None:
        self.harness = harness
        self.today = today
        self.old = old
        self.kept = kept
        self._named = profile, otherwise
        self._only: Span | None = None
        self.tally = Tally()
        """What is worked out of this harness."""

    @cached_property
    def profile(self) -> Profile:
        """Whose limits decide. Raises ``ValueError`` where there is no such profile."""
        from .tables.house import profile_of

        return profile_of(self.harness, *self._named)

    @cached_property
    def circuit(self) -> Circuit:
        return build_circuit(self.harness)

    @cached_property
    def copper(self) -> Copper:
        """Which terminals are connected, whatever the controls do or in some position."""
        from .logic.connected import Copper

        return Copper(self.circuit)

    @cached_property
    def logic(self) -> SwitchingLogic:
        """Exact logic over every combination."""
        if self.kept is not None:
            return self.kept.logic(self.harness)
        from .logic import SwitchingLogic

        return SwitchingLogic(self.circuit, tally=self.tally)

    @cached_property
    def properties(self) -> Properties:
        """What must stop, stay dead or live, proved over every combination."""
        from .behaviour.properties import Properties

        return Properties(self.logic, self.harness, self.is_asked_at)

    @contextmanager
    def asking_only(self, at: Span) -> Iterator[None]:
        """In a ``with``: only findings that point at one place are asked for. A rule that goes through many things
        leaves out the others (``is_asked_at``).
        """
        self._only = at
        self.__dict__.pop("properties", None)
        try:
            yield
        finally:
            self._only = None
            self.__dict__.pop("properties", None)

    def is_asked_at(self, at: Span) -> bool:
        """Whether findings that point at a place are asked for: all are, but in ``asking_only``."""
        return self._only is None or self._only == at

    @cached_property
    def unjudged(self) -> Unjudged:
        """What rules asked and got no answer to."""
        from .behaviour.unjudged import Unjudged

        return Unjudged()

    def judging(self, *parts: str) -> AbstractContextManager[None]:
        """In a ``with``: what cannot be judged of some parts is left out, and said once by ``not-judged``."""
        return self.unjudged.judging(*parts)

    @cached_property
    def behaviour(self) -> Behaviour:
        """What is live, fed, stopped: the one place that rules ask."""
        from .behaviour import Behaviour

        return Behaviour(self.logic, self.circuit)

    @cached_property
    def misfed(self) -> tuple[Misfed, ...]:
        """Stop and tail lamps that do not their own work; several rules tell of them."""
        from .behaviour.lamp_roles import misfed

        return misfed(self.behaviour, self.judging)

    @cached_property
    def operation(self) -> Operation:
        """Numbers: the named states solved, and the worst loads of every conductor and device."""
        if self.kept is not None:
            return self.kept.operation(self.harness, self.logic)
        from .operation.operation import Operation

        return Operation(self.circuit, self.logic)

    @cached_property
    def hard_start(self) -> HardStart:
        """The same on a cold battery, and in the moment in which the starter does not turn yet."""
        from .operation.hard_start import hard_start

        return hard_start(self.operation, self.protection.cranking_path.armatures)

    @cached_property
    def conductors(self) -> Conductors:
        """What each wire carries and may carry, what protects it and what is lost in it."""
        from .conductors.loading import Conductors

        return Conductors(self)

    @cached_property
    def protection(self) -> Protection:
        """What a fault in each conductor can draw, and which devices limit it."""
        from .protection.protection import Protection

        return Protection(self.circuit, self.profile)

    @cached_property
    def alternating(self) -> dict[str, Alternating]:
        """The least rms currents of the leads between windings and what they feed, by branch."""
        from .conductors.stator_leads import alternating

        turns = any(s.kind == "winding" or s.phases for s in self.circuit.supplies)
        return alternating(self.operation, self.protection) if turns else {}

    @cached_property
    def winding_lamps(self) -> WindingLamps | None:
        """What lamps on windings get; ``None`` where there is no winding."""
        if not any(supply.kind == "winding" for supply in self.circuit.supplies):
            return None
        from .operation.lamp_volts import WindingLamps

        return WindingLamps(self.operation)

    @cached_property
    def old_reading(self) -> Reading | None:
        """The harness that this one converts. Raises ``UnreadableError``."""
        return self.old() if self.old is not None else None

    @cached_property
    def comparison(self) -> Comparison | None:
        """This harness beside the one that it converts; ``None`` where it converts none. Raises ``UnreadableError``."""
        if self.old_reading is None:
            return None
        from .conversion.comparison import Comparison
        from .conversion.side import Side

        new = Side(self.harness, lambda: self.logic, lambda: self.operation, self.circuit)
        return Comparison(Side.of(self.old_reading.harness, self.kept), new)
