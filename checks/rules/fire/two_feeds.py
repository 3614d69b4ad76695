"""A fuse that does not disconnect its wires from the battery; two unequal batteries in parallel."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from itertools import combinations
from typing import Final

from ....lang.circuit.branch import Supply
from ....lang.circuit.branch_types import BranchType, Direction
from ....lang.circuit.circuit import Circuit
from ....lang.model.harness import Harness
from ....lang.model.parts import Source
from ....lang.quantities.quantity import Quantity
from ....lang.records import dataclass
from ....lang.search.bridges import islands
from ...behaviour import BATTERY
from ...behaviour.counterexample import about_path, names_of
from ...dc.devices import USUAL_AMP_HOURS
from ...findings.finding import Figure, Finding, Level, Stage
from ...rule import Rule
from ...study import Study
from ...tables.batteries import rest_volts, usual_resistance
from ...tables.device_constants import law_source, laws

EVERY_COMBINATION = "Loomwright's analysis: every combination of the controls"


def find(study: Study) -> Iterator[Finding]:
    yield from _fuses(study)
    yield from _unequal_batteries(study)


def _fuses(study: Study) -> Iterator[Finding]:
    behaviour = study.behaviour
    circuit = behaviour.circuit
    # A part that conducts one way only isolates two feeds: both ends are asked without it.
    one_way = [b.key for b in circuit.branches if b.branch_type.joined is Direction.FORWARD]
    bypassed = _may_be_bypassed(circuit)
    for fuse in circuit.branches:
        with study.judging(fuse.part):
            if fuse.key not in bypassed:
                continue
            pulled = behaviour.without((fuse.key, *one_way))
            shown = pulled.may(behaviour.all_of(*(behaviour.fed(node, BATTERY) for node in (fuse.a, fuse.b))))
            if shown is None:
                continue
            round_it = pulled.way(shown, fuse.a, fuse.b) or ()
            bridged = round_it and all(branch.branch_type.conductor for branch in round_it)
            ends = {study.copper.bare.of(node) for node in (fuse.a, fuse.b)}
            beside = [
                other.part
                for other in circuit.branches
                if other.branch_type is BranchType.FUSE
                and other is not fuse
                and {study.copper.bare.of(node) for node in (other.a, other.b)} == ends
            ]
            feeds = [pulled.feed(shown, node, BATTERY) for node in (fuse.a, fuse.b)]
            path = max(feeds, key=len)
            concerned = feeds if beside else [path]
            wires = _wires_of(circuit, beside)
            parallel = "parallel" if wires else "parallel-shared"
            yield RULE.found(
                "bridged" if bridged else "parallel" if beside else "both-ends",
                fuse.span,
                facts={
                    "fuse": fuse.key,
                    "beside": tuple(beside),
                    "wires": wires,
                    "band": "the loads" if circuit.return_sign == "-" else "the battery",
                },
                level=Level.WARNING,
                about=(fuse.part, *beside, *(name for each in concerned for name in about_path(pulled, each))),
                shown=shown,
                path=path,
                source=EVERY_COMBINATION,
                fix="bridge" if bridged else parallel if beside else "second-feed",
                # Fuses side by side have one repair: all but one of them go.
                group=" ".join(sorted(ends)) if beside else "",
            )


def _wires_of(circuit: Circuit, fuses: Iterable[str]) -> tuple[str, ...]:
    """The wires that go with fuses: those that are alone on a terminal; none where any terminal has several, since
    others depend on those.
    """
    ends = dict.fromkeys(end for fuse in fuses for b in circuit.of_part[fuse] for end in (b.a, b.b))
    pieces = [circuit.pieces_at(end) for end in ends]
    return tuple(dict.fromkeys(on[0].wire for on in pieces)) if all(len(on) == 1 for on in pieces) else ()


@dataclass(frozen=True, slots=True)
class _AtRest:
    """A battery at rest: its V and ohm, usual ones where they are not written.

    ``said``: the V by the text alone, those of the system where its own are not written, since usual ones are from
    memory and so decide no error.
    """

    supply: Supply
    volts: float
    ohms: float
    said: float


def _batteries(harness: Harness, supplies: Iterable[Supply]) -> Iterator[_AtRest]:
    for supply in supplies:
        part = harness.parts.get(supply.name)  # a winding is no part
        if isinstance(part, Source) and part.what == "battery":
            usual = rest_volts(1.0, "lithium" if part.lithium else "flooded", harness.volts)
            ohms = part.ohms or usual_resistance(part.amp_hours or USUAL_AMP_HOURS, harness.volts)
            yield _AtRest(supply, part.volts or usual, ohms, part.volts or harness.volts)


def _unequal_batteries(study: Study) -> Iterator[Finding]:
    """Pairs of batteries with + connected to + and - to -, whose volts at rest are too far apart."""
    behaviour, harness = study.behaviour, study.harness
    for pair in combinations(_batteries(harness, behaviour.circuit.supplies), 2):
        below, above = sorted(pair, key=lambda battery: battery.volts)
        if not _too_unequal(above.volts, below.volts):
            continue
        high, low = above.supply, below.supply
        # The higher drives the lower: what lets current through that way only joins them all the same.
        there, home = behaviour.joined(high.plus[0], low.plus[0]), behaviour.joined(low.minus, high.minus)
        shown = behaviour.may(behaviour.all_of(there, home))
        if shown is None:
            continue
        to = behaviour.way(shown, high.plus[0], low.plus[0]) or ()
        back = behaviour.way(shown, low.minus, high.minus) or ()
        path = names_of((high.plus[0], *to, low.plus[0], low.minus, *back, high.minus))
        ohms = above.ohms + below.ohms
        amps = (above.volts - below.volts) / ohms
        yield RULE.found(
            "unequal",
            harness.parts[low.name].span,
            facts={
                "high": high.name,
                "high_volts": Quantity(above.volts, "V"),
                "low": low.name,
                "low_volts": Quantity(below.volts, "V"),
                "current": Quantity(_two_digits(amps), "A"),
            },
            level=Level.ERROR if _too_unequal(above.said, below.said) else Level.WARNING,
            about=(high.name, low.name, *about_path(behaviour, path)),
            shown=shown,
            path=path,
            source=str(law_source("unequal_volts_share")),
            figures=(
                Figure(high.name, above.volts, "V"),
                Figure(low.name, below.volts, "V"),
                Figure("both resistances, wires left out", ohms, "ohm"),
            ),
        )


def _two_digits(amps: float) -> float:
    """A with no more than two significant digits: the resistances are known no better."""
    return round(amps, 1 - math.floor(math.log10(amps)))


def _too_unequal(above: float, below: float) -> bool:
    return above - below > laws().unequal_volts_share * above


def _may_be_bypassed(circuit: Circuit) -> frozenset[str]:
    """The fuses round which, with every contact closed, something joins their two ends: no table is needed."""
    both = [branch for branch in circuit.branches if branch.branch_type.joined is Direction.BOTH]
    bridges = islands(circuit.at, [(branch.a, branch.b) for branch in both]).far_side
    return frozenset(b.key for i, b in enumerate(both) if b.branch_type is BranchType.FUSE and i not in bridges)


_ALONE: Final = (
    "so that {fuse} alone feeds the loads, where its rating covers them; or split the loads between the fuses, with no "
    "connection behind them"
)

RULE = Rule(
    name="two-feeds",
    level=Level.ERROR,
    family="fire",
    stage=Stage.TOPOLOGY,
    catches="a fuse that can be pulled with both its ends still fed by the battery: a warning; two batteries in "
    "parallel whose voltages at rest differ by over 10 %: an error",
    why="""A fuse is pulled to make a wire dead before work on it, and blows to end a fault. A fuse between two feeds
    does neither: the wire stays live from the other side, and a fault draws the current of both. A diode, a coil or an
    output of a control unit between the two isolates them. Two batteries of unequal voltage in parallel are worse: only
    their small resistances limit the current from the higher into the lower, until a fuse blows or the lower one
    boils.""",
    source=f"{EVERY_COMBINATION}; 10 % between two batteries: Loomwright's limit",
    formula="""the device out; found where, in a possible combination, both its ends are connected to a battery's feed
   pole, or to each other; a diode, a coil, a load or a unit's output isolates two feeds;
   two batteries: + connected to + and - to -, and difference of rest voltages > 0.10 x the higher; first current =
   difference / (both resistances), wires left out; a warning where only usual rest voltages, from memory, differ by
   that""",
    cautions="Measure that a wire is dead before you work on it; a pulled fuse is no proof.",
    says={
        "bridged": "{fuse} is bypassed: a wire connects its two ends",
        "parallel": "{fuse} and {beside} are in parallel[ ({when})]: when one is pulled, both its ends stay live",
        "both-ends": "{fuse} is fed at both ends[ ({when})]: when it is pulled, both ends stay live",
        "unequal": "{high} ({high_volts}) and {low} ({low_volts}) are connected in parallel[ ({when})]; at first about "
        "{current} flows from {high} into {low}",
    },
    fixes={
        "bridge": "disconnect the wire that bypasses {fuse}, along the path above",
        "parallel": f"remove {{beside}} and {{wires:wire|wires}} {{wires}}, {_ALONE}",
        "parallel-shared": f"remove {{beside}} and join the wires at each of its terminals in a splice, {_ALONE}",
        "second-feed": "disconnect the second feed along the path above, so that {fuse} alone feeds its wires; where "
        "both feeds are needed, fit a diode in each that carries its loads, its band (cathode) towards {band}",
        "unequal": "disconnect {high} from {low}: connect only batteries of one voltage and one type in parallel",
    },
    find=find,
)
