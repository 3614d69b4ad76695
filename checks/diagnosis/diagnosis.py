"""What is reported on a fault that is sought: suspects, in groups that no observation tells apart, and why."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

from ...lang.records import dataclass
from ..fmea.failure_modes import Fault
from ..fmea.failure_modes import Mode as FaultMode
from .next_test import Measurement, ToGround
from .observations import Observation, Read
from .ohm_tests import Ohms

if TYPE_CHECKING:
    from ..operation.left_before import Unfollowed


Mode = FaultMode | Literal["high resistance"]


@dataclass(frozen=True, slots=True)
class Reason:
    """What a suspect says of one observation; ``explains``: they agree. ``restless``: all that it predicts is a reading
    that does not stand still.
    """

    observation: Observation
    explains: bool
    words: str
    restless: bool = False


@dataclass(frozen=True, slots=True)
class Suspect:
    """One fault. ``weight``: its share of what speaks for all suspects together, 0 to 1."""

    fault: Fault
    mode: Mode
    weight: float

    def __str__(self) -> str:
        return f"{self.fault.where} {self.mode}"


@dataclass(frozen=True, slots=True)
class AmbiguityGroup:
    """Suspects in series that do the same, from the feed to the ground; most often one. Or wires of which one lies on
    ground. ``reasons``: one for each observation.

    ``also``: what it would change besides, and nobody spoke of. ``opens``: the devices that open when one of these
    wires is shorted to ground; ``burns``: none does, and a battery feeds it. ``history``: how relays and machines were
    left for the state to be so that it explains all this; empty where it does from rest. ``earlier``: it explains this
    only if it was there before this, in words; empty where it does if it comes now as well.
    """

    suspects: tuple[Suspect, ...]
    reasons: tuple[Reason, ...]
    also: tuple[str, ...]
    opens: tuple[str, ...] = ()
    burns: bool = False
    history: str = ""
    earlier: str = ""

    @property
    def mode(self) -> Mode:
        return self.suspects[0].mode

    @property
    def likeliest(self) -> float:
        """The weight of what is looked at first: of the likeliest of them, or of the device that they all open."""
        return self.weight if self.opens else max(suspect.weight for suspect in self.suspects)

    @property
    def weight(self) -> float:
        return sum(suspect.weight for suspect in self.suspects)


@dataclass(frozen=True, slots=True)
class Sensed:
    """A quantity in a ``position`` in which the harness shows all that was ``seen`` without any fault; ``switches``
    sense it. ``stop``: the engine runs, and is destroyed if it does so; then it is enough that something was seen that
    is so for that reason.
    """

    quantity: str
    position: str
    switches: tuple[str, ...]
    seen: tuple[Observation, ...]
    stop: bool


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """What was found. ``sound``: the harness without any fault shows all that was seen, and nothing is suspected.

    ``ambiguity_groups``: the likeliest first; none explains all observations where ``partial``, and each of them some.
    ``next`` is ``None`` where no volts tell the suspects apart; ``ohms`` and ``to_ground`` then have what may, with the
    battery out. Nothing is measured among suspects that are ``partial``.
    ``unsolved``: faults that were not worked out all the way, and are no suspects, but nothing acquits them; nor does
    anything acquit a fault in the ``unpredicted`` ways in which the state may be. ``dim_when_sound``: what is stated
    to be dim and is so without any fault: taken as dimmer than that. ``off_when_sound``: what is stated to be dim or
    live and is off without any fault. ``most_charged``: V over which no reading comes from charging as the text has it;
    infinite where nothing charges. ``too_much``: the readings over that. ``lowered``: those
    at a field whose current a regulator lowers, by how much is not solved. ``expected``: of each reading, the least and
    the most V that the sound harness shows there, where all that was seen agrees with it. ``live_where_dead``: the
    readings of a voltage where the sound harness has none, where no fault explains everything. ``sensed``: what nobody
    sees, otherwise than the state has it, that shows all this without any fault. ``too_little``: the readings across a
    battery that a meter hardly tells from those without any fault, and under ``least_charged`` V, the least that it is
    charged with: the suspects fit better than no fault does.
    """

    observations: tuple[Observation, ...]
    sound: bool
    ambiguity_groups: tuple[AmbiguityGroup, ...]
    partial: bool
    next: Measurement | None
    ohms: tuple[Ohms, ...] = ()
    to_ground: tuple[ToGround, ...] = ()
    unsolved: tuple[str, ...] = ()
    unpredicted: tuple[Unfollowed, ...] = ()
    dim_when_sound: tuple[str, ...] = ()
    off_when_sound: tuple[str, ...] = ()
    most_charged: float = math.inf
    too_much: tuple[Observation, ...] = ()
    lowered: tuple[Observation, ...] = ()
    expected: tuple[tuple[Read, float, float], ...] = ()
    live_where_dead: tuple[Read, ...] = ()
    sensed: tuple[Sensed, ...] = ()
    too_little: tuple[Observation, ...] = ()
    least_charged: float = 0.0

    @property
    def stops_first(self) -> bool:
        """Whether the engine is to be stopped before anything else: nothing is measured with it running then."""
        return any(each.stop for each in self.sensed)

    @property
    def suspects(self) -> tuple[Suspect, ...]:
        """All of them, chain by chain."""
        return tuple(suspect for ambiguity_group in self.ambiguity_groups for suspect in ambiguity_group.suspects)
