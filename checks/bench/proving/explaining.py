"""Which single faults give what was read with the battery off, and which cannot be where rows are as expected: all of
them, not only those that a row is there for.

Opens of all that conducts, resistance in the same place where less was read than an open gives, and each net pinched to
ground. What is shorted inside a part, and two wires that are swapped, are not judged.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Literal

from ....lang.records import dataclass
from ...diagnosis.ruled_out import RuledOut
from ...fmea.failure_modes import SHORT
from ...tables.meter import meter_figures
from ...tables.proving import proving
from .copper import copper
from .diode_range import DiodeRange
from .predicted import Fault, Predicted, predicted

if TYPE_CHECKING:
    from ....lang.circuit.circuit import Circuit
    from ....lang.circuit.ids import End
    from ....lang.search.disjoint_set import DisjointSet
    from .at_rest import AtRest, Probe
    from .rows import Expected

Sort = Literal["open", "resistance", "pinched"]


@dataclass(frozen=True, slots=True)
class Read:
    """A row of stage 2 and what was read: ohm, ``inf`` for an open circuit, ``None`` where it is but good or not."""

    number: str
    ohms: float | None
    good: bool


@dataclass(frozen=True, slots=True)
class Explained:
    """Keys of branches that are ``open`` or have ``resistance``; ``pinched`` are nets: a terminal, and the wires of it.

    The net at which a row that is off was measured is the first, and has the terminal of that row.
    """

    open: tuple[str, ...] = ()
    resistance: tuple[str, ...] = ()
    pinched: tuple[tuple[End, tuple[str, ...]], ...] = ()

    def __bool__(self) -> bool:
        return bool(self.open or self.resistance or self.pinched)


def explained(at_rest: AtRest, readings: Iterable[Read]) -> Explained:
    """The single faults that give every reading; nothing where a row that is off has no figures behind it."""
    read = list(readings)
    off = [each for each in read if not each.good]
    if not off or any(each.number not in at_rest.probed for each in off):
        return Explained()
    together = copper(at_rest.circuit)
    faults = [*_opens(at_rest), *(Fault(pinched=end) for end in at_rest.motorcycle.nets)]
    left: dict[Fault, set[Sort]] = {fault: {"open", "resistance"} if fault.open else {"pinched"} for fault in faults}
    by_setting = _by_setting(at_rest, read)
    shown = {number: _predicted(at_rest, number, faults, rows) for number, rows in by_setting.items()}
    cells = [(shown[number], j, each) for number, rows in by_setting.items() for j, each in enumerate(rows)]
    added = min((r.ohms - float(by.most[j]) for by, j, r in cells if not r.good and r.ohms is not None), default=0.0)
    for i, fault in enumerate(faults):
        for by, j, each in cells:
            left[fault] &= _fits(by, i, j, each, at_rest.probed[each.number][1], added)
    return _told(at_rest.circuit, together, left, [at_rest.probed[each.number][0] for each in off])


def opened_in_all(at_rest: AtRest, readings: Iterable[Read]) -> tuple[str, ...]:
    """What alone, where it is open, gives every row that is off, rows of the diode range that read ``inf`` among them:
    keys in the order of the text, without what a row that is as expected clears.
    """
    read = list(readings)
    off, good = [each for each in read if not each.good], [each for each in read if each.good]
    ohms = [each for each in off if each.number in at_rest.probed]
    diodes = [each for each in off if each.number in at_rest.probed_diodes and each.ohms == math.inf]
    if not off or len(ohms) + len(diodes) < len(off):
        return ()
    sets = [set(explained(at_rest, [*ohms, *good]).open)] if ohms else []
    sets += [set(_diode_range(at_rest, each.number).opens()) for each in diodes]
    cleared = cleared_at_rest(at_rest, [each.number for each in good]).faults if good else frozenset()
    common = set.intersection(*sets)
    keys = dict.fromkeys(branch.key for branch in at_rest.circuit.branches)
    return tuple(key for key in keys if key in common and f"{key} open" not in cleared)


def cleared_at_rest(at_rest: AtRest, good: Iterable[str]) -> RuledOut:
    """Of rows that are as expected, by number, the faults under which one of them could not be.

    A wire on ground is predicted at its own end: with fuses out and parts unplugged a row sees but what copper joins.
    """
    numbers = list(good)
    wires = [b for b in at_rest.circuit.branches if b.segment is not None]
    opens = _opens(at_rest)
    faults = [*opens, *(Fault(pinched=wire.b) for wire in wires)]
    words = [*(f"{fault.open} open" for fault in opens), *(f"{wire.key} {SHORT}" for wire in wires)]
    found: set[str] = set()
    joints: dict[str, float] = {}
    rows = [Read(number, None, good=True) for number in numbers]
    for setting, here in _by_setting(at_rest, rows).items():
        shown = _predicted(at_rest, setting, faults, here)
        for j, row in enumerate(here):
            expected = at_rest.probed[row.number][1]
            found.update(said for i, said in enumerate(words) if not _may_read(shown, i, j, expected))
            for i, fault in enumerate(opens):
                joints[fault.open] = min(joints.get(fault.open, math.inf), _most_ohms(shown, i, j, expected))
    for number in numbers:
        if number in at_rest.probed_diodes:
            diodes = _diode_range(at_rest, number)
            for key in diodes.opens():
                found.add(f"{key} open")
                joints[key] = min(joints.get(key, math.inf), meter_figures().diode_range)
            found.update(f"{wire.key} {SHORT}" for wire in wires if diodes.passes_back(wire.b))
    return RuledOut(frozenset(found), {key: ohms for key, ohms in joints.items() if ohms < math.inf})


def _diode_range(at_rest: AtRest, number: str) -> DiodeRange:
    probe, _ = at_rest.probed_diodes[number]
    meter = at_rest.meter(at_rest.settings[probe.setting], piecewise=True)
    return DiodeRange(meter, probe.a, probe.b, at_rest.ground)


def diode_suspects(at_rest: AtRest, number: str, word: str) -> str:
    """What a row of the diode range is off for, by the word that was read: the diode, and what is in series with it."""
    diode = at_rest.probed_diodes[number][1]
    match word:
        case "both ways":
            return f"{diode} shorted or bridged"
        case "wrong way":
            return f"{diode} the wrong way round"
        case "open":
            opens = _diode_range(at_rest, number).opens()
            series = [key for key in dict.fromkeys(b.key for b in at_rest.circuit.branches) if key in opens]
            return f"{', '.join(series)}: one of these open"
        case _:
            return f"{diode} open, shorted or the wrong way round"


def bridged_suspects(at_rest: AtRest, number: str) -> tuple[str, ...]:
    """Whose ohms a row reads, in series or beside one another: what is shorted, or bridged, where it reads fewer."""
    faults = _opens(at_rest)
    row = Read(number, None, good=False)
    shown = _predicted(at_rest, at_rest.probed[number][0].setting, faults, [row])
    sound = float(shown.least[0]), float(shown.most[0])
    changed = (f.open for i, f in enumerate(faults) if (shown.least_with[i, 0], shown.most_with[i, 0]) != sound)
    return tuple(key for key in changed if at_rest.circuit.by_key[key].segment is None)


def _most_ohms(shown: Predicted, fault: int, pair: int, expected: Expected) -> float:
    """The ohms too many that what is open in a fault may have where a row is as expected: known where nothing else
    leads past it, so that the row reads all of them.
    """
    if expected.most is None or not math.isinf(float(shown.least_with[fault, pair])):
        return math.inf
    least, most = float(shown.least[pair]), float(shown.most[pair])
    return math.inf if math.isinf(least) else expected.most - max(0.0, _bounds(least, most, shown.spread)[0])


def _by_setting(at_rest: AtRest, read: Iterable[Read]) -> dict[int, list[Read]]:
    """The rows that have figures behind them, by the number of their setting."""
    found: dict[int, list[Read]] = {}
    for each in read:
        if each.number in at_rest.probed:
            found.setdefault(at_rest.probed[each.number][0].setting, []).append(each)
    return found


def _predicted(at_rest: AtRest, setting: int, faults: Sequence[Fault], rows: Sequence[Read]) -> Predicted:
    pairs = [(probe.a, probe.b) for probe, _ in (at_rest.probed[row.number] for row in rows)]
    return predicted(at_rest.meter(at_rest.settings[setting], piecewise=True), at_rest.ground, faults, pairs)


def _opens(at_rest: AtRest) -> list[Fault]:
    """Everything that conducts and can be open, as a conductor or inside a part."""
    able = {branch.key for branch in at_rest.motorcycle.faults}
    keys = [b.key for b in at_rest.circuit.branches if b.key in able or (b.branch_type.consumes and b.a != b.b)]
    return [Fault(open=key) for key in dict.fromkeys(keys)]


def _fits(shown: Predicted, fault: int, pair: int, read: Read, expected: Expected, added: float) -> set[Sort]:
    """As what a fault gives a reading; ``added`` ohm are at least what a resistance has, by the rows that are off."""
    least, most = float(shown.least_with[fault, pair]), float(shown.most_with[fault, pair])
    floor = -1.0 if expected.least is None else expected.least
    ceiling = math.inf if expected.most is None else expected.most
    told = least > ceiling or most < floor
    if read.good:
        beside = added if math.isinf(least) or math.isinf(added) else added * least / max(added + least, 1e-9)
        hidden = not told or ceiling != proving("ground_most") or beside <= ceiling
        possible: set[Sort] = set() if told else {"open", "pinched"}
        return possible | {"resistance"} if hidden else possible
    changed = (least, most) != (float(shown.least[pair]), float(shown.most[pair]))
    if read.ohms is None or not changed:
        return {"open", "resistance", "pinched"} if told else set()
    low, high = _bounds(least, most, shown.spread)
    if low <= read.ohms <= high:
        return {"open", "pinched"}
    return {"resistance"} if ceiling < read.ohms < low else set()


def _may_read(shown: Predicted, fault: int, pair: int, expected: Expected) -> bool:
    """Whether a row may be as expected with a fault, its meter and its parts as far off as they may be."""
    least, most = float(shown.least_with[fault, pair]), float(shown.most_with[fault, pair])
    if (least, most) == (float(shown.least[pair]), float(shown.most[pair])):
        return True  # it changes nothing here
    low, high = _bounds(least, most, shown.spread)
    return (expected.most is None or low <= expected.most) and (expected.least is None or high >= expected.least)


def _bounds(least: float, most: float, spread: float) -> tuple[float, float]:
    """What a hand-held meter may show of ``least`` to ``most`` ohm."""
    if math.isinf(least):
        return proving("open_least"), math.inf
    slip = proving("slip")
    return least / spread - slip, max(most * spread + slip, proving("ground_most"))


def _told(
    circuit: Circuit, together: DisjointSet[End], left: dict[Fault, set[Sort]], off: Sequence[Probe]
) -> Explained:
    measured = {together.leader(end): end for probe in reversed(off) for end in (probe.b, probe.a)}
    pinched = [(together.leader(f.pinched), f.pinched) for f, sorts in left.items() if f.pinched is not None and sorts]
    pinched.sort(key=lambda net: net[0] not in measured)  # stable: else as in the text
    wires: dict[End, list[str]] = {}
    for branch in circuit.branches:
        if branch.segment is not None:
            wires.setdefault(together.leader(branch.a), []).append(branch.key)
    return Explained(
        open=tuple(fault.open for fault, sorts in left.items() if "open" in sorts),
        resistance=tuple(fault.open for fault, sorts in left.items() if sorts == {"resistance"}),
        pinched=tuple((measured.get(net, end), tuple(wires.get(net, ()))) for net, end in pinched),
    )
