"""The one measurement that splits suspects best: where the leads go, and what each group of them would show."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import field, replace
from typing import TYPE_CHECKING

from ...lang.circuit.branch import Pulled
from ...lang.circuit.branch_types import BranchType, Direction
from ...lang.circuit.ids import End
from ...lang.circuit.paths import steps_over
from ...lang.model.parts import Connector, Ground, Splice
from ...lang.quantities.ranking import exceeds
from ...lang.records import dataclass
from ...lang.search.walks import hops
from ..fmea.failure_modes import Fault
from ..tables.meter import tolerance
from .observations import Read
from .probes import FAR, UNTOUCHED, Pair, _reach, _swinging
from .rows import Row, bits_of, rows_of

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

LEAST_BITS, PERHAPS_BITS = 0.02, 0.15
"""What tells less on average is not worth a reading; and where some readings would leave every suspect (ours)."""

RANGES = (20.0, 200.0)
"""The ranges of DC volts of a common meter that serve a motorcycle: 2000 counts."""


@dataclass(frozen=True, slots=True)
class Showing:
    """A suspect and what it would show: V of all nodes, in each case that is possible (cases, nodes); ``unsteady`` are
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
    """DC volts in range ``range`` V between ``red`` and ``black``; ``where`` in the words of an observation.

    ``swings``: a flasher works on the way. ``sound``: V that the harness without any fault shows. ``alternating``: AC
    volts, as a winding gives them.
    """

    red: End
    black: End
    where: str
    range: float
    expected: tuple[Expected, ...]
    sound: float
    swings: bool = False
    alternating: bool = False


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
    point: OperatingPoint, pairs: Sequence[Pair], showings: Sequence[Showing], taken: Sequence[Read] = ()
) -> Measurement | None:
    """The reading that tells most for what it costs after those ``taken``. ``None``: none tells enough."""
    import numpy as np

    if len(showings) < 2:
        return None
    index = point.flow.network.index
    nominal = point.circuit.harness.volts
    weights = np.array([s.weight for s in showings])
    reds, blacks = [index[p.red] for p in pairs], [index[p.black] for p in pairs]
    shown = [s.cases[:, reds] - s.cases[:, blacks] for s in showings]
    least, most = np.array([each.min(axis=0) for each in shown]), np.array([each.max(axis=0) for each in shown])
    spread = most.max(axis=0) - least.min(axis=0) >= 2 * tolerance(0.0, nominal)
    suspected = [point.circuit.by_key[showing.fault.key] for showing in showings]
    touched = {node for branch in suspected for node in (branch.a, branch.b)} - {point.circuit.ground}
    known: dict[bytes, tuple[float, list[Row]]] = {}
    done = {frozenset((read.red, read.black)) for read in taken}
    last = taken[-1] if taken else None
    best: tuple[float, Pair, list[Row]] | None = None
    for i in np.flatnonzero(spread).tolist():
        alike = np.round((least[:, i], most[:, i]), 2).tobytes()  # many terminals show the same
        if alike not in known:
            rows = rows_of(least[:, i], most[:, i], nominal)
            known[alike] = bits_of(rows, least[:, i], most[:, i], weights), rows
        bits, rows = known[alike]
        certain = all(len(row.left) < len(showings) for row in rows)
        if bits < (LEAST_BITS if certain else PERHAPS_BITS) or {pairs[i].red, pairs[i].black} in done:
            continue  # it tells next to nothing
        below = float(least[:, i].min()) < -tolerance(0.0, nominal)
        far = FAR * (pairs[i].red not in touched and pairs[i].black not in touched)
        reading = ROW * max(len(rows) - 2, 0) + DOUBT * (not certain)
        worth = bits / (_cost(point, pairs[i], pairs[i].reach + below + far, last) + reading)
        if best is None or exceeds(worth, best[0]):
            best = worth, pairs[i], rows
    return None if best is None else _measurement(point, best[1], best[2], showings)


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


def _measurement(point: OperatingPoint, pair: Pair, rows: Sequence[Row], showings: Sequence[Showing]) -> Measurement:
    index = point.flow.network.index
    r, b = index[pair.red], index[pair.black]
    nominal = point.circuit.harness.volts
    sound = float(point.flow.readings[r] - point.flow.readings[b])
    shown = [[float(case[r] - case[b]) for case in showing.cases] for showing in showings]
    told = []
    for row in rows:
        spans = [(min(shown[i]), max(shown[i])) for i in sorted(row.left)]
        ends = _within(row, spans) or [end for span in spans for end in span]
        near = min(ends) - tolerance(min(ends), nominal) <= sound <= max(ends) + tolerance(max(ends), nominal)
        suspects = tuple((showings[i].fault, showings[i].mode) for i in sorted(row.left))
        told.append(Expected(min(ends), max(ends), suspects, near, row.over, row.under))
    if any(row.sound and row.over <= sound < row.under for row in told):  # beside it a row is no sound one
        told = [replace(row, sound=row.over <= sound < row.under) for row in told]
    elif not any(row.sound for row in told):
        told = _with_sound(told, sound)
    most = max(abs(end) for row in told for end in (row.least, row.most) if end is not None)
    told = [_steady(row, showings, (r, b), nominal) for row in told]
    setting = next(each for each in (*RANGES, most) if each >= most)
    swinging = _swinging(point)
    return Measurement(
        pair.red,
        pair.black,
        pair.where,
        setting,
        tuple(told),
        sound,
        pair.red in swinging or pair.black in swinging,
        point.flow.alternates(pair.red) or point.flow.alternates(pair.black),
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


def _steady(row: Expected, showings: Sequence[Showing], ends: tuple[int, int], nominal: float) -> Expected:
    """A row with no figure but of what settles; and with what may keep switching instead, and show anything."""
    r, b = ends
    chatters: dict[str, None] = {}
    spans: list[tuple[float, float]] = []
    for showing in showings:
        if (showing.fault, showing.mode) not in row.suspects:
            continue
        volts = showing.cases[:, r] - showing.cases[:, b]
        if showing.unsteady is not None and showing.unsteady.any():
            restless = volts[showing.unsteady]
            if restless.max() >= row.over and restless.min() <= row.under:
                chatters |= dict.fromkeys(showing.chatters)
            volts = volts[~showing.unsteady]
            off = tolerance(nominal, nominal)
            if not len(volts) or volts.max() < row.over - off or volts.min() > row.under + off:
                continue  # what is read here is read while it switches
        spans.append((float(volts.min()), float(volts.max())))
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
