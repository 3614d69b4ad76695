"""The first current of a field: the terminal that its feed belongs to, and the lamp or resistor that passes enough."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, Literal

from ...lang.model.parts import Source
from ...lang.records import dataclass
from ..behaviour.field_regulators import field_regulators, passes
from ..dc.device_models import lamp
from ..dc.devices import battery_at_rest
from ..dc.excitation import start_volts
from ..tables.device_constants import lamp_rated_volts, laws
from ..tables.spares import resistance_sold, spare_rating

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch, Supply
    from ...lang.circuit.ids import End
    from ..study import Study

MARGIN: Final = 1.25
"""How much more than just enough a charge lamp or resistor is to pass (ours): a battery at half its charge has 4 % less
than a full one, a resistor may have 10 % more than is printed on it, and contacts and wires lose the rest."""

LARGEST_LAMP: Final = 10
"""W of the largest charge lamp that is advised (ours)."""


@dataclass(frozen=True, slots=True)
class FieldFeed:
    """The terminal ``at`` that the feed of a field belongs to; ``regulated``: whether a regulator is on the feed side,
    that terminal before it (``before``), on the return side of the field (``behind``), or nothing is known of one.
    """

    at: End
    regulated: Literal["before", "behind", ""]

    def own(self, study: Study, supply: Supply) -> bool:
        """Whether the machine, once excited, feeds the field itself past no load, as by a trio of diodes."""
        sides = study.protection
        taps = supply.plus[1:] if study.circuit.return_sign == "-" else ()
        return self.at in sides.reached([sides.feed_pole(supply), *taps], outward=True, shut=sides.returns)


def field_feed(study: Study, field: Branch) -> FieldFeed:
    """Where the feed of a field belongs: before the regulator that passes it on, if there is one. Behind it the
    regulator pulls the terminal down all the time, so that a charge lamp there glows on a sound motorcycle too.
    """
    joined, ends = study.copper.fused, study.protection
    at = ends.feed_end(field)
    other = field.b if at == field.a else field.a
    for near, far in ((near, far) for r in field_regulators(study.circuit) for near, far in _both_ways(passes(r))):
        if joined.same(near, at) and far not in ends.returns:
            return FieldFeed(far, "before")
        if joined.same(near, other) and near not in ends.returns:
            return FieldFeed(at, "behind")
    return FieldFeed(at, "")


def _both_ways(ends: tuple[End, End]) -> tuple[tuple[End, End], tuple[End, End]]:
    return ends, (ends[1], ends[0])


@dataclass(frozen=True, slots=True)
class Pilot:
    """What limits the first current of a field and passes enough of it: a ``lamp`` of at least some W, or a resistor of
    ``ohms`` rated ``watts``, behind a ``diode`` of some A; ``None`` where none is sold that does.
    """

    lamp: int | None
    ohms: float | None
    watts: float | None
    diode: float | None


def pilot(study: Study, supply: Supply, field: float) -> Pilot:
    """The lamp or resistor for a field of ``field`` ohm, fed by the weakest battery at rest through a diode.

    The resistor carries its current with the key on for as long as anybody leaves it on, the battery at rest; and with
    the engine running, the battery charged, where the machine does not feed its field or its regulator keeps that low.
    """
    regulated = study.operation.network.regulated[supply.name]
    amps = MARGIN * start_volts(regulated) / field
    rest = _least_at_rest(study)
    left = rest - laws().diode_volts - amps * (laws().diode_ohms + field)
    if left <= 0.0:
        return Pilot(None, None, None, None)
    ohms = resistance_sold(left / amps)
    heat = max((volts / (ohms + field)) ** 2 * ohms for volts in (rest, regulated))
    carries = max(rest, regulated) / (ohms + field)
    lamp_watts = _least_lamp(study.harness.volts, left, amps)
    return Pilot(lamp_watts, ohms, spare_rating("resistor", heat), spare_rating("diode", carries))


def _least_at_rest(study: Study) -> float:
    """V of the weakest battery at rest; of the system without one."""
    parts, system = study.harness.parts.values(), study.harness.volts
    batteries = (part for part in parts if isinstance(part, Source) and part.what == "battery")
    return min((battery_at_rest(each, system) for each in batteries), default=system)


def _least_lamp(system: float, volts: float, amps: float) -> int | None:
    """The least whole W of a filament lamp that passes some A with some V across it."""
    sizes = range(1, LARGEST_LAMP + 1)
    return next((w for w in sizes if lamp(w, lamp_rated_volts(w, system)).amps(volts) >= amps), None)
