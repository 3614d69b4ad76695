"""The one measurement that splits suspects best: where the leads go, and what each group of them would show."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import field, replace
from typing import TYPE_CHECKING

from ...lang.circuit.branch import InPosition, Pulled
from ...lang.circuit.branch_types import BranchType, Direction
from ...lang.circuit.ids import End
from ...lang.circuit.paths import steps_over
from ...lang.model.parts import Connector, Ground, Splice
from ...lang.quantities.ranking import exceeds
from ...lang.records import dataclass
from ...lang.search.walks import hops
from ..ac.harmonics import stack_of
from ..fmea.failure_modes import Fault
from ..tables.meter import tolerance
from .observations import Read, Setting
from .probes import FAR, UNTOUCHED, Pair, _reach, _swinging
from .rows import Row, bits_of, rows_of
from .shown import AC, DC, ends

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit.branch import Branch
    from ...lang.circuit.circuit import Circuit
    from ..operation.operation import OperatingPoint

    Floats = NDArray[np.float64]

REACH, WALK, LEAD, ROW, DOUBT = 0.15, 0.3, 0.15, 0.05, 0.3
"""What a reading costs beside itself, which is 1 (ours): for each step of how hard its terminals are to reach; for a
walk to where neither lead was; for a black lead that must come off where it is clipped; for each row more than two that
it is held against; where some readings would leave every suspect. Johnson (1960): take the one with the most
information for its cost.
"""

MOSTLY = 0.3
"""Of what swings, what a direct voltage beside it may be on AC volts: with more of it two meters differ, one that
blocks it and one that does not, by more than 4 % (ours).
"""

LEAST_BITS, PERHAPS_BITS = 0.02, 0.15
"""What tells less on average is not worth a reading; and where some readings would leave every suspect (ours)."""

RANGES = (20.0, 200.0)
"""The ranges of DC volts of a common meter that serve a motorcycle: 2000 counts."""


@dataclass(frozen=True, slots=True)
class Showing:
    """A suspect and what it would show: stacks of all nodes, see ``ac.harmonics``, in each case that is
    possible (cases, rows, nodes); ``unsteady`` are
    those in which ``chatters`` keep switching.
    """

    fault: Fault
    mode: str
    cases: Floats = field(repr=False)
    weight: float
    unsteady: NDArray[np.bool_] | None = field(default=None, repr=False)
    chatters: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Expected:
    """What the meter would show, from ``least`` to ``most`` V, with one of ``suspects``, or with none (``sound``);
    ``None``: nothing steady. ``chatters`` may keep switching with one of them: nothing steady is predicted then.

    A reading from ``over`` to ``under`` V leaves these, and no other: the rows leave no gap. A suspect that may show
    more than one of them, a bad joint of unknown ohms, is in several rows.
    """

    least: float | None
    most: float | None
    suspects: tuple[tuple[Fault, str], ...]
    sound: bool
    over: float = -math.inf
    under: float = math.inf
    chatters: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Measurement:
    """Volts in range ``range`` V between ``red`` and ``black``; ``where`` in the words of an observation.

    ``swings``: a flasher works on the way. ``sound``: V that the harness without any fault shows. ``alternating``:
    on AC volts, else on DC volts. ``stands``: the engine does not run, which it does in the state that was asked about;
    ``crank``: the parts whose contacts it moves, and whether these are closed meanwhile.
    """

    red: End
    black: End
    where: str
    range: float
    expected: tuple[Expected, ...]
    sound: float
    swings: bool = False
    alternating: bool = False
    stands: bool = False
    crank: tuple[tuple[str, bool], ...] = ()


@dataclass(frozen=True, slots=True)
class ToGround:
    """Wires of which one may be shorted to ground, measured together with the battery out, from ``red`` to ``black``.

    ``devices``: what they opened, taken out or unplugged first. ``unplug``: the parts connected to them, the farthest
    from ``red`` first.
    """

    faults: tuple[Fault, ...]
    devices: tuple[str, ...]
    red: End
    black: End
    unplug: tuple[str, ...]


def next_measurement(
    point: OperatingPoint,
    pairs: Sequence[Pair],
    showings: Sequence[Showing],
    taken: Sequence[Read] = (),
    *,
    stands: bool = False,
) -> Measurement | None:
    """The reading that tells most for what it costs after those ``taken``. ``None``: none tells enough. ``stands``: at
    this point the engine does not run, though it does without any fault.
    """
    import numpy as np

    if len(showings) < 2:
        return None
    nominal = point.circuit.harness.volts
    weights = np.array([s.weight for s in showings])
    offered = list(_offered(point, pairs, showings))
    pairs = [pair for pair, _, _, _ in offered]
    least, most = (np.array([each[place] for each in offered]).reshape(len(offered), -1).T for place in (2, 3))
    spread = most.max(axis=0) - least.min(axis=0) >= 2 * tolerance(0.0, nominal)
    suspected = [point.circuit.by_key[showing.fault.key] for showing in showings]
    touched = {node for branch in suspected for node in (branch.a, branch.b)} - {point.circuit.ground}
    known: dict[bytes, tuple[float, list[Row]]] = {}
    done = {(frozenset((read.red, read.black)), read.setting or each) for read in taken for each in (DC, AC)}
    last = taken[-1] if taken else None
    best: tuple[float, int, list[Row]] | None = None
    for i in np.flatnonzero(spread).tolist():
        alike = np.round((least[:, i], most[:, i]), 2).tobytes()  # many terminals show the same
        if alike not in known:
            rows = rows_of(least[:, i], most[:, i], nominal)
            known[alike] = bits_of(rows, least[:, i], most[:, i], weights), rows
        bits, rows = known[alike]
        certain = all(len(row.left) < len(showings) for row in rows)
        if (
            bits < (LEAST_BITS if certain else PERHAPS_BITS)
            or (
                frozenset((pairs[i].red, pairs[i].black)),
                offered[i][1],
            )
            in done
        ):
            continue  # it tells next to nothing
        below = float(least[:, i].min()) < -tolerance(0.0, nominal)
        far = FAR * (pairs[i].red not in touched and pairs[i].black not in touched)
        reading = ROW * max(len(rows) - 2, 0) + DOUBT * (not certain)
        worth = bits / (_cost(point, pairs[i], pairs[i].reach + below + far, last) + reading)
        if best is None or exceeds(worth, best[0]):
            best = worth, i, rows
    if best is None:
        return None
    told = _measurement(point, *offered[best[1]][:2], best[2], showings)
    return replace(told, stands=True, crank=tuple(_crank_switches(point).items())) if stands else told


def _crank_switches(point: OperatingPoint) -> dict[str, bool]:
    """The parts whose contacts the engine moves as it turns, and whether any of them is closed at a point."""
    controls = point.circuit.controls
    found: dict[str, bool] = {}
    for branch in point.circuit.branches:
        guard = branch.guard
        moved = isinstance(guard, InPosition) and controls[guard.control].free
        if moved and branch.branch_type is BranchType.CONTACT:
            found[branch.part] = found.get(branch.part, False) or point.connectivity.conducts(branch)
    return found


def _offered(
    point: OperatingPoint, pairs: Sequence[Pair], showings: Sequence[Showing]
) -> Iterator[tuple[Pair, Setting, Floats, Floats]]:
    """Each reading that may be taken, with the least and the most V that it shows with each suspect: on DC volts, and
    where windings drive something on AC volts too, but where a direct voltage may be the greater part: what a meter
    makes of that on AC volts, its maker knows.
    """
    import numpy as np

    index = point.flow.network.index
    reds = np.array([index[pair.red] for pair in pairs], dtype=np.intp)
    blacks = np.array([index[pair.black] for pair in pairs], dtype=np.intp)
    settings: tuple[Setting, ...] = (DC, AC) if point.flow.waves is not None else (DC,)
    slight = tolerance(0.0, point.circuit.harness.volts)
    for setting in settings:
        shown = [ends(showing.cases, reds, blacks, setting) for showing in showings]
        least, most = np.array([low.min(axis=0) for low, _ in shown]), np.array([high.max(axis=0) for _, high in shown])
        clear = np.ones(len(pairs), dtype=bool)
        for showing in showings if setting == AC else ():
            direct, swung = np.abs(ends(showing.cases, reds, blacks, DC)[0]), ends(showing.cases, reds, blacks, AC)[0]
            clear &= ~((direct > MOSTLY * swung) & (direct > slight)).any(axis=0)
        for i in np.flatnonzero(clear).tolist():
            yield pairs[i], setting, least[:, i], most[:, i]


def _cost(point: OperatingPoint, pair: Pair, reach: int, last: Read | None) -> float:
    """What a reading costs, against the easiest: the lead that stays where it was costs nothing."""
    leads = (point.circuit.ground,) if last is None else (last.red, last.black)
    here = {_spot(point, node) for node in leads}
    own = [node for node in (pair.red, pair.black) if node not in leads]
    walks = any(_spot(point, node) not in here for node in own) and last is not None
    moved = not {pair.red, pair.black} & {leads[-1], point.circuit.ground}
    return 1.0 + REACH * reach + WALK * walks + LEAD * moved


def _spot(point: OperatingPoint, node: End) -> str:
    """Where on the bike a terminal is: its place, or the part that it belongs to where none is written."""
    name = node.part
    part = point.circuit.harness.parts.get(name)
    return getattr(part, "place", None) or name


def _measurement(
    point: OperatingPoint, pair: Pair, setting: Setting, rows: Sequence[Row], showings: Sequence[Showing]
) -> Measurement:
    index = point.flow.network.index
    r, b = index[pair.red], index[pair.black]
    nominal = point.circuit.harness.volts
    flow = point.flow
    sound = float(ends(stack_of(flow), r, b, setting)[1])
    shown = [ends(showing.cases, r, b, setting) for showing in showings]
    told = []
    for row in rows:
        spans = [(float(shown[i][0].min()), float(shown[i][1].max())) for i in sorted(row.left)]
        bounds = _within(row, spans) or [end for span in spans for end in span]
        near = min(bounds) - tolerance(min(bounds), nominal) <= sound <= max(bounds) + tolerance(max(bounds), nominal)
        suspects = tuple((showings[i].fault, showings[i].mode) for i in sorted(row.left))
        told.append(Expected(min(bounds), max(bounds), suspects, near, row.over, row.under))
    if any(row.sound and row.over <= sound < row.under for row in told):  # beside it a row is no sound one
        told = [replace(row, sound=row.over <= sound < row.under) for row in told]
    elif not any(row.sound for row in told):
        told = _with_sound(told, sound)
    most = max(abs(end) for row in told for end in (row.least, row.most) if end is not None)
    told = [_steady(row, showings, shown, nominal) for row in told]
    meter_range = next(each for each in (*RANGES, most) if each >= most)
    swinging = _swinging(point)
    return Measurement(
        pair.red,
        pair.black,
        f"{setting} {pair.where}" if flow.waves is not None else pair.where,
        meter_range,
        tuple(told),
        sound,
        pair.red in swinging or pair.black in swinging,
        setting == AC,
    )


def _within(row: Row | Expected, spans: Sequence[tuple[float, float]]) -> list[float]:
    """What is predicted in a row: the part in it of what suspects show from the least to the most V. What reaches it by
    the meter's tolerance alone states no figure there.
    """
    return [
        end
        for low, high in spans
        if low <= row.under and high >= row.over
        for end in (max(low, row.over), min(high, row.under))
    ]


def _steady(
    row: Expected, showings: Sequence[Showing], shown: Sequence[tuple[Floats, Floats]], nominal: float
) -> Expected:
    """A row with no figure but of what settles; and with what may keep switching instead, and show anything. ``shown``:
    the least and the most V of each suspect, by case.
    """
    chatters: dict[str, None] = {}
    spans: list[tuple[float, float]] = []
    for showing, (low, high) in zip(showings, shown, strict=True):
        if (showing.fault, showing.mode) not in row.suspects:
            continue
        if showing.unsteady is not None and showing.unsteady.any():
            if high[showing.unsteady].max() >= row.over and low[showing.unsteady].min() <= row.under:
                chatters |= dict.fromkeys(showing.chatters)
            low, high = low[~showing.unsteady], high[~showing.unsteady]
            off = tolerance(nominal, nominal)
            if not len(low) or high.max() < row.over - off or low.min() > row.under + off:
                continue  # what is read here is read while it switches
        spans.append((float(low.min()), float(high.max())))
    if not chatters:
        return row
    figures = _within(row, spans)
    return replace(row, least=min(figures, default=None), most=max(figures, default=None), chatters=tuple(chatters))


def _with_sound(told: Sequence[Expected], sound: float) -> list[Expected]:
    """The rows with one more: what the harness shows without any fault, which is nobody's. It takes the end of the row
    that it falls into, up to half way to what that one predicts.
    """
    found: list[Expected] = []
    for row in told:
        if not row.over <= sound < row.under:
            found.append(row)
        elif row.least is None or row.most is None:
            raise TypeError("a row has no figures to be split by")
        elif sound < row.least:
            middle = (sound + row.least) / 2.0
            found += [Expected(sound, sound, (), True, row.over, middle), replace(row, over=middle)]
        else:
            middle = (row.most + sound) / 2.0
            found += [replace(row, under=middle), Expected(sound, sound, (), True, middle, row.under)]
    return found


# --- where volts tell nothing ----------------------------------------------------------------------------------------
def to_ground(
    point: OperatingPoint, faults: Sequence[Fault], devices: Sequence[Branch], shunned: frozenset[End] = frozenset()
) -> Iterator[ToGround]:
    """How wires that may be shorted to ground are measured: those that are joined while nothing is powered, together.

    The red lead goes to the load side of a device that opened, where the wires are joined to it, else to what of them
    is easiest to reach, or is nearest to them and can be reached; none of the terminals ``shunned``.
    """
    circuit = point.circuit
    black = _body(circuit)
    of_device = {node for device in devices for node in (device.a, device.b)}
    left = list(faults)
    while left:
        first = circuit.by_key[left[0].key]
        joined = _joined(point, first.a)
        here = [f for f in left if circuit.by_key[f.key].a in joined]
        left = [f for f in left if f not in here]
        ends = dict.fromkeys(n for f in here for n in (circuit.by_key[f.key].a, circuit.by_key[f.key].b))
        order = {node: i for i, node in enumerate(joined)}
        red = min(
            (n for n in (*ends, *(of_device & joined.keys())) if n not in shunned),
            key=lambda n: (n not in of_device, UNTOUCHED if (r := _reach(point, n)) is None else r, order[n]),
            default=first.a,
        )
        if red not in of_device and _reach(point, red) is None:  # splices alone: the nearest terminal joined to them
            red = next((n for n in joined if n not in shunned and _reach(point, n) is not None), red)
        away = _joined(point, red)
        far: dict[str, int] = {}
        for node, steps in away.items():
            name = node.part
            part = circuit.harness.parts.get(name)
            if part is not None and node in ends and not isinstance(part, Splice | Ground):
                far[name] = max(far.get(name, 0), steps)
        names = tuple(dict.fromkeys(d.part for d in devices))
        own = red.part  # a connector comes apart behind the lead, anything else does not
        for name in names if isinstance(circuit.harness.parts[own], Connector) else (*names, own):
            far.pop(name, None)
        place = {name: i for i, name in enumerate(far)}
        unplug = tuple(sorted(far, key=lambda name: (-far[name], place[name])))
        yield ToGround(tuple(here), names, red, black, unplug)


def _body(circuit: Circuit) -> End:
    """Where the black lead goes with the battery out: a body of ground on the return pole, or that pole."""
    of = circuit.nets.of
    bodies = (n for n in circuit.ends if isinstance(circuit.harness.parts.get(n), Ground))
    return next((n for n in bodies if of[n] == of.get(circuit.ground)), circuit.ground)


def _joined(point: OperatingPoint, start: End) -> dict[End, int]:
    """The terminals that are connected to one past no fuse while nothing is powered, with the steps to each."""

    def joins(branch: Branch) -> bool:
        held = isinstance(branch.guard, Pulled) and branch.guard.pulled
        copper = branch.branch_type.joined is Direction.BOTH and branch.branch_type is not BranchType.FUSE
        return copper and not held and point.connectivity.conducts(branch)

    steps = steps_over(point.circuit, joins)
    return hops([start], lambda node: (other for other, _ in steps(node)))
