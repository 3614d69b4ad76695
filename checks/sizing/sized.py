"""What sizing proposes: each wire and fuse with what it has, what it should have, and why."""

from __future__ import annotations

from ...lang.quantities.size import Size
from ...lang.records import dataclass
from .criteria import Need


@dataclass(frozen=True, slots=True, kw_only=True)
class SizedWire:
    """A wire: what it has, what is proposed, and why.

    ``metric`` and ``awg`` are the smallest of each ladder, ``proposed`` the one of its ladder, or what it has where
    that is enough and no thicker. ``needs`` are all reasons, ``decides`` the one that asks for most. ``left`` says why
    the wire stays as it is whatever it needs; ``short_of`` what no size of the ladder gives it. ``amps`` is the
    continuous current, ``held`` the greatest while a control is held.
    """

    name: str
    present: Size | None
    proposed: Size | None
    metric: Size | None
    awg: Size | None
    decides: Need | None
    needs: tuple[Need, ...]
    amps: float
    held: float
    metres: float | None
    left: str = ""
    short_of: str = ""

    @property
    def changes(self) -> bool:
        return self.proposed is not None and self.proposed != self.present


@dataclass(frozen=True, slots=True, kw_only=True)
class SizedFuse:
    """A fuse: the rating it has in A, the one proposed, what flows through it, and what decides.

    ``least`` is the smallest that is sold and carries what flows, whether it is proposed or not, as ``metric`` and
    ``awg`` are of a wire; ``None`` where the rating is not to be chosen.
    """

    name: str
    form: str
    present: float | None
    proposed: float | None
    says: str
    amps: float
    held: float
    least: float | None = None
    left: str = ""

    @property
    def changes(self) -> bool:
        return self.proposed is not None and self.proposed != self.present


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizing:
    """What is proposed for a harness. ``remarks`` are lines about what could not be judged or met."""

    wires: tuple[SizedWire, ...]
    fuses: tuple[SizedFuse, ...]
    remarks: tuple[str, ...]
    profile: str

    @property
    def sizes(self) -> dict[str, Size]:
        """The new size of each wire that gets one."""
        return {wire.name: wire.proposed for wire in self.wires if wire.changes and wire.proposed is not None}

    @property
    def ratings(self) -> dict[str, float]:
        """The new rating in A of each fuse that gets one."""
        return {fuse.name: fuse.proposed for fuse in self.fuses if fuse.changes and fuse.proposed is not None}
