"""The rows of first power as they are put together, each with what is behind it and which opens it shows."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from ....lang.records import dataclass
from ...dc.devices import UnsolvableError
from ...dc.memory import AT_REST
from ...tables.proving import proving
from .motorcycle import Motorcycle
from .rows import Expected, Row
from .watching import Band, Watched

if TYPE_CHECKING:
    from ....lang.circuit.branch import Supply
    from ....lang.circuit.circuit import Circuit
    from ....lang.circuit.ids import End
    from ...dc.memory import Memory
    from ...operation.operation import Operation


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """A row of stage 3 with what is behind it, for whoever compares readings; ``looking``: lamps are looked at too.

    ``at``: the names of the things that its own words speak of; all there are if ``None``. ``of_battery``: the row is
    of a battery by itself, and what all others read follows from it.
    """

    row: Row
    watched: Watched
    bands: tuple[Band, ...] = ()
    looking: bool = True
    at: frozenset[str] | None = None
    of_battery: bool = False

    @property
    def answers(self) -> bool:
        """Whether what is read in the row itself says how lamps look: no voltmeter does."""
        return self.looking and self.row.expected.way == "look"


class FirstPower:
    """The rows, and what they show: ``shown`` are the keys of the branches whose opening is noticed in one of them.

    ``dropped`` are the moves beyond the limit, ``untold`` what could not be worked out, both in words.
    """

    def __init__(self, circuit: Circuit) -> None:
        self.motorcycle = Motorcycle(circuit)
        self.moments: list[Moment] = []
        self.shown: set[str] = set()
        self.dropped: list[str] = []
        self.untold: list[str] = []

    # --- rows
    def solved(self, operation: Operation, positions: Mapping[str, str], memory: Memory = AT_REST) -> Watched | None:
        """One combination; ``None`` where it has no operating point or is a dead short."""
        try:
            point = operation.at(positions, memory)
        except UnsolvableError:
            return None
        return None if point.shorted else Watched(operation, point, memory)

    def look(
        self,
        watched: Watched,
        sheet: str,
        do: str,
        words: str,
        about: tuple[str, ...] = (),
        at: frozenset[str] | None = None,
    ) -> None:
        """A row in which lamps are looked at; ``at``: those that its words speak of, all if ``None``."""
        row = Row(number=self._next, sheet=sheet, do=do, expected=Expected(way="look", words=words), about=about)
        self._add(watched, row, at=at)

    def tick(self, sheet: str, do: str, words: str, about: tuple[str, ...], watched: Watched | None = None) -> None:
        """A row to tick, so that nobody forgets what it says: no fault is counted that it shows.

        ``watched`` is what is behind it where that is not the row before.
        """
        row = Row(number=self._next, sheet=sheet, do=do, expected=Expected(way="look", words=words), about=about)
        self.moments.append(Moment(row=row, watched=watched or self.moments[-1].watched, looking=False))

    def battery(self, watched: Watched, sheet: str, do: str, supply: Supply, least: float) -> None:
        """A row with a voltmeter across a battery by itself: ``least`` V or more, whatever the harness has."""
        expected = Expected(way="volts", least=least)
        row = Row(
            number=self._next,
            sheet=sheet,
            do=do,
            red=supply.plus[0],
            black=supply.minus,
            expected=expected,
            about=(supply.name,),
        )
        self.moments.append(Moment(row=row, watched=watched, looking=False, of_battery=True))

    def amps(self, watched: Watched, sheet: str, do: str, most: float) -> None:
        """A row with an ammeter in the battery's lead."""
        expected = Expected(way="amps", least=0.0, most=most)
        row = Row(number=self._next, sheet=sheet, do=do, expected=expected, about=self.motorcycle.batteries)
        self._add(watched, row, looking=False)

    def volts(
        self, watched: Watched, sheet: str, do: str, band: Band, about: tuple[str, ...], *, looking: bool = True
    ) -> None:
        """A row with a voltmeter."""
        expected = Expected(way="volts", least=band.least, most=band.most)
        row = Row(number=self._next, sheet=sheet, do=do, red=band.red, black=band.black, expected=expected, about=about)
        self._add(watched, row, (band,), looking=looking)

    def to_ground(self, watched: Watched, sheet: str, do: str, end: End, about: tuple[str, ...]) -> None:
        """A row with a voltmeter between a terminal and ground: about what it has, or next to nothing."""
        circuit = self.motorcycle.circuit
        system = self.motorcycle.harness.volts
        size = abs(watched.point.volts(end))
        leak = round(proving("leak_volts") * system / 12.0, 1)
        off = proving("load_share") * size + proving("load_volts") * system / 12.0
        least, most = (0.0, leak) if size < leak else (round(size - off, 1), round(size + off, 1))
        red, black = (end, circuit.ground) if circuit.return_sign == "-" else (circuit.ground, end)
        self.volts(watched, sheet, do, Band(red, black, least, most), about)

    @property
    def _next(self) -> str:
        return f"3.{len(self.moments) + 1}"

    def _add(
        self,
        watched: Watched,
        row: Row,
        bands: tuple[Band, ...] = (),
        *,
        looking: bool = True,
        at: frozenset[str] | None = None,
    ) -> None:
        here = watched.point.circuit.by_key
        left = [b for b in self.motorcycle.faults if b.key not in self.shown and b.key in here]
        fires = at if at is not None and not at.isdisjoint(watched.running) else None
        self.shown |= watched.shown(left, bands, looking=looking, at=fires)
        self.moments.append(Moment(row=row, watched=watched, bands=bands, looking=looking, at=at))

    # --- what they show
    def pinched(self, ends: Iterable[End]) -> frozenset[End]:
        """The terminals of which a pinch to ground is noticed in some row: the test lamp lights, a fuse blows."""
        left = list(ends)
        found: set[End] = set()
        for moment in self.moments:
            found |= moment.watched.shorted(left, moment.bands, looking=moment.looking) if left else frozenset()
            left = [end for end in left if end not in found]
        return frozenset(found)
