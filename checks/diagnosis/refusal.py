"""What cannot have been seen or read in a state with any one fault: refused, and said why."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.ids import owner_of
from ..tables.meter import tolerance
from .observations import Observation, ObservationError, Read, Seen, Setting, UnknownThingError
from .shown import AC, DC, ends
from .ways import Ways

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]


NOT_SOLVED = "is not solved: neither its state nor its voltage can be given"


NEAR_GROUND = 0.05
"""Of the nominal volts, what is as good as ground at an input (ours)."""


def check(ways: Ways, each: Observation) -> None:
    if isinstance(each, Seen):
        if each.thing not in ways.places.things:
            raise UnknownThingError(each.thing, ways.places.things)
        on = [key for key in ways.untold if each.thing in (key, owner_of(key))]
        if on:
            raise ObservationError(
                f"{each.thing} runs on alternating current, which {NOT_SOLVED}. {_by_hand(ways, on)}"
            )
        return
    for node in (each.red, each.black):
        if node in ways.alternating:
            fed = [k for k in ways.untold if node in _ends(ways, k)]
            raise ObservationError(f"{each}: {node} has alternating current, which {NOT_SOLVED}. {_by_hand(ways, fed)}")
        given = ways.pulled_up.get(node)
        if given is not None and abs(each.volts) > NEAR_GROUND * ways.nominal:
            raise ObservationError(
                f"{each}: {given} senses ground, and how many volts {given.part} puts there itself while nothing "
                "grounds it is not in the file. About 0 V says that it is grounded; more says only that it is not, as "
                "with its switch open: leave the reading out, and measure the resistance to ground with the battery off"
            )
    if each.setting == AC and not ways.alternates:
        raise ObservationError(
            f"{each}: in {ways.state} nothing is worked out that alternates; set the meter to DC volts and read again"
        )
    for setting in _settings(ways, each):
        least, most = _span_of(ways, each, setting, ways.stacks)
        if not _outside(ways, each, least, most):
            return
    spans = [_with_joints(ways, each, setting) for setting in _settings(ways, each)]
    if all(_outside(ways, each, least, most) for least, most in spans):
        span = min(least for least, _ in spans), max(most for _, most in spans)
        raise ObservationError(" ".join((_refusal(ways, each, *span), *ways.left_out())))


def _settings(ways: Ways, each: Read) -> tuple[Setting, ...]:
    """On which volts a reading may have been taken."""
    if each.setting:
        return (each.setting,)
    return (DC, AC) if ways.alternates else (DC,)


def _with_joints(ways: Ways, each: Read, setting: Setting) -> tuple[float, float]:
    """The least and the most V with any one fault, bad joints among them."""
    spans = [_span_of(ways, each, setting, stacks) for stacks in (ways.stacks, *ways.stacks_of_joints())]
    return min(least for least, _ in spans), max(most for _, most in spans)


def _span_of(ways: Ways, each: Read, setting: Setting, stacks: Floats) -> tuple[float, float]:
    """The least V that a reading may show there with any one of some faults, and the most that there is anywhere;
    ``stacks``: (cases, rows, nodes). On AC volts: anywhere against one of its two terminals.
    """
    import numpy as np

    index = ways.rest.point.flow.network.index
    red, black = index[each.red], index[each.black]
    least, _ = ends(stacks, red, black, setting)
    if setting == AC:
        every = np.arange(stacks.shape[2])
        against = [float(ends(stacks, every, np.array([end]), AC)[1].max()) for end in (red, black)]
        return float(least.min()), max(against)
    lowest, highest = float(stacks[:, 0].min()), float(stacks[:, 0].max())
    ground = ways.places.ground
    most = -lowest if each.red == ground else highest if each.black == ground else highest - lowest
    if not each.either_way:
        return float(least.min()), most
    return 0.0, max(-lowest, highest) if ground in (each.red, each.black) else most


def _outside(ways: Ways, each: Read, least: float, most: float) -> bool:
    nominal = ways.rest.nominal
    return each.volts < least - tolerance(least, nominal) or each.volts > most + tolerance(most, nominal)


def _refusal(ways: Ways, each: Read, least: float, most: float) -> str:
    """Why a reading outside of all that there is with any one fault cannot be."""
    if each.volts > most:
        other = "the unit right?" if each.setting == AC else "the meter set to DC volts, and the unit right?"
        return f"{each} is more than there is in {ways.state}, {most:.1f} V at most with any one fault: is {other}"
    if each.volts >= 0.0:
        return (
            f"{each} is less than any one fault leaves there, {least:.1f} V: the battery itself may be flat or "
            "worn, or two things are wrong; charge and test it first."
        )
    return (
        f"{each} is below zero, and no single fault explains that there: put the red lead "
        f"on {each.red} and the black one on {each.black}"
    )


def _ends(ways: Ways, key: str) -> tuple[str, str]:
    branch = ways.rest.point.circuit.by_key[key]
    return branch.a, branch.b


def _by_hand(ways: Ways, keys: Sequence[str]) -> str:
    """What is measured instead at what runs on alternating current: elements by their keys, else the windings."""
    circuit = ways.rest.point.circuit
    windings = [b.key for b in circuit.branches if b.branch_type is BranchType.WINDING]
    read = " and ".join("from {} to {}".format(*_ends(ways, key)) for key in (*keys, *windings)[:1])
    ohms = " and ".join("from {} to {}".format(*_ends(ways, key)) for key in windings)
    asked = f"Set the meter to AC volts and read {read} while the engine turns" if read else ""
    then = f"engine stopped and unplugged, measure the winding's resistance {ohms}" if ohms else ""
    known = f"{'; '.join(said for said in (asked, then) if said)}. The maker's manual has the values."
    leads = [
        node
        for part in {circuit.by_key[key].part: None for key in keys}
        for node in ways.rest.statuses.leads.get(part, ())[:1]
    ]
    if leads:
        known += f" First unplug {leads[0]}, its kill wire: if it sparks then, that wire or its switch is at fault."
    return known
