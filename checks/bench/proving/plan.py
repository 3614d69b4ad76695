"""The whole proof of a harness, stage by stage, and what none of it tells."""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Final

from ....lang.circuit.build import build_circuit
from ....lang.quantities.quantity import Quantity, shown
from ....lang.records import dataclass
from ...tables.proving import proving
from ..looms import looms
from ..pieces import pieces
from .at_rest import AtRest
from .by_eye import by_eye
from .crimps import Sample, Thick, samples, thick
from .first_power import first_power
from .rows import Expected, Row
from .table import TableLoom, Touch, table_looms

if TYPE_CHECKING:
    from ....lang.model.harness import Harness
    from .moments import FirstPower, Moment

BAR: Final = "the bar"
PULLS: Final = "pull, by UL 486A"
"""The sheet of the pulls at samples."""
STAGES: Final = (0, 1, 2, 3)


@dataclass(frozen=True, slots=True)
class TableRow:
    """A row of stage 1 with the touch that it is; ``None`` for a pull or a current."""

    row: Row
    loom: TableLoom | None = None
    touch: Touch | None = None


class Proof:
    """The rows of a proof. Stages are worked out when they are asked for: the first two need no numbers."""

    def __init__(self, harness: Harness) -> None:
        self.harness = harness

    # --- on the bench
    @cached_property
    def looms(self) -> tuple[TableLoom, ...]:
        return table_looms(self.harness, looms(self.harness, pieces(self.harness)))

    @cached_property
    def by_eye(self) -> tuple[Row, ...]:
        return by_eye(self.harness, self.looms)

    @cached_property
    def samples(self) -> tuple[Sample, ...]:
        return samples([loom.loom for loom in self.looms])

    @cached_property
    def table(self) -> tuple[TableRow, ...]:
        """Loom by loom the touches, then the thick wires, then a pull for each kind of crimp."""
        found: list[TableRow] = []
        for loom in self.looms:
            for touch in loom.touches:
                found.append(TableRow(self._touched(loom, touch, len(found) + 1), loom, touch))
            for wire in thick(loom):
                found.append(TableRow(_current(loom, wire, len(found) + 1)))
        for sample in self.samples:
            if sample.pull is not None:
                found.append(TableRow(_pull(sample, len(found) + 1)))
        return tuple(found)

    def _touched(self, loom: TableLoom, touch: Touch, number: int) -> Row:
        net = loom.nets[touch.net]
        if touch.point is None:
            return Row(
                number=f"1.{number}", sheet=f"loom {loom.loom.name}", black=touch.reference.name, red=BAR,
                expected=Expected(way="silence"), about=net.pieces,
            )  # fmt: skip
        return Row(
            number=f"1.{number}", sheet=f"loom {loom.loom.name}", black=touch.reference.name, red=touch.point.name,
            expected=Expected(way="beep"), about=loom.along(net, touch.point),
        )  # fmt: skip

    @property
    def touches(self) -> int:
        """Rows with the beeper: points - 1 of each loom, added up."""
        return sum(len(loom.touches) for loom in self.looms)

    @property
    def minutes(self) -> float:
        """How long these take."""
        return self.touches * proving("row_seconds") / 60.0

    # --- on the motorcycle
    @cached_property
    def first_power(self) -> FirstPower:
        return first_power(build_circuit(self.harness))

    @cached_property
    def at_rest(self) -> AtRest:
        return AtRest(self.first_power)

    def rows(self, stage: int) -> tuple[Row, ...]:
        match stage:
            case 0:
                return self.by_eye
            case 1:
                return tuple(each.row for each in self.table)
            case 2:
                return self.at_rest.rows
            case _:
                return tuple(moment.row for moment in self.first_power.moments)

    def moment(self, number: str) -> Moment | None:
        """What is behind a row of stage 3."""
        return next((moment for moment in self.first_power.moments if moment.row.number == number), None)

    # --- what nothing tells
    @cached_property
    def untold(self) -> tuple[str, ...]:
        """What no row shows, and what could not be worked out."""
        known = {f.open for f in self.at_rest.faults if f.open} - {f.open for f in self.at_rest.missed if f.open}
        known |= self.at_rest.told_diodes
        opens = [b.key for b in self.first_power.motorcycle.faults if b.key not in self.first_power.shown | known]
        pinched = [str(f.pinched) for f in self.at_rest.missed if f.pinched is not None]
        diodes = self.at_rest.untold_diodes
        dropped = self.first_power.dropped
        return tuple(
            said
            for said in (
                f"open: {', '.join(opens)}" if opens else "",
                f"pinched to ground: {', '.join(pinched)}" if pinched else "",
                f"diode: {', '.join(diodes)}" if diodes else "",
                f"more than {shown(proving('most_moves'))} moves, left out: {', '.join(dropped)}" if dropped else "",
                *self.first_power.untold,
            )
            if said
        )

    @cached_property
    def owed(self) -> tuple[str, ...]:
        """What the text does not say, so that a row is missing."""
        unknown = [
            end.name
            for loom in self.looms
            for piece in loom.loom.pieces
            for end in piece.ends
            if end.end is not None and (end.crimp is None or piece.size is None)
        ]
        few = ", ".join(dict.fromkeys(unknown[:8])) + (f" and {len(unknown) - 8} more" if len(unknown) > 8 else "")
        lengths = [w.a.name for loom in self.looms for w in thick(loom) if w.volts is None]
        untabled = [f"{s.crimp} on {s.size}" for s in self.samples if s.pull is None]
        return tuple(
            said
            for said in (
                f"missing: the crimp or the size of wire at {few}: no pull is listed for them" if unknown else "",
                f"owed: a length or a size of the thick wires at {', '.join(lengths)}" if lengths else "",
                f"not in the table of pulls: {', '.join(untabled)}" if untabled else "",
            )
            if said
        )


def _current(loom: TableLoom, wire: Thick, number: int) -> Row:
    amps = shown(Quantity(proving("test_amps"), "A"))
    return Row(
        number=f"1.{number}", sheet=f"loom {loom.loom.name}", do=f"{amps} from red to black", black=wire.b.name,
        red=wire.a.name, expected=Expected(way="drop", least=0.0, most=wire.volts), about=wire.pieces,
    )  # fmt: skip


def _pull(sample: Sample, number: int) -> Row:
    newtons = 0.0 if sample.pull is None else sample.pull.newtons
    return Row(
        number=f"1.{number}", sheet=PULLS, about=(),
        do=f"{sample.crimp} on {sample.size}: a sample made with the same tool, straight and slowly, for a minute",
        expected=Expected(way="pull", least=newtons),
    )  # fmt: skip
