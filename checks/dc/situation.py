"""What conducts in one combination, and which machines give current: what the equations are solved for."""

from __future__ import annotations

from ...lang.records import dataclass


@dataclass(frozen=True, slots=True)
class Running:
    """A machine that gives current: up to ``amps``, held at ``volts``.

    ``ripple`` is what of these amps the battery lends while all circuits of a duty are closed, and takes back while
    they are open: in so short a time its own volts stay. On the average the machine gives up to ``lasting``.
    """

    supply: str
    amps: float
    volts: float
    ripple: float = 0.0

    @property
    def lasting(self) -> float:
        return self.amps - self.ripple


@dataclass(frozen=True)
class Situation:
    """What conducts in one combination: the guarded branches that do, and how the rest stands.

    ``turning``: the engine turns. ``asleep``: units take what they take asleep. ``pulsing``: the contacts that open and
    close as the engine turns, by key, and the signals that come and go, by the names of their controls. ``resting``:
    elements of a duty, by key, in the share of time in which their circuit is open. ``engine``: its position, most
    speed among them.
    """

    conducting: frozenset[str]
    turning: bool = False
    asleep: bool = False
    machines: tuple[Running, ...] = ()
    pulsing: frozenset[str] = frozenset()
    resting: frozenset[str] = frozenset()
    engine: str = "off"
