"""A load that gets too little of the battery's voltage."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from ....lang.circuit.branch_types import BranchType
from ....lang.quantities.quantity import Quantity
from ....lang.quantities.ranking import exceeds, ranked
from ...findings.facts import Fact
from ...findings.finding import Figure, Finding, Level, Stage
from ...fixes.drops import thicker_for_drop
from ...fixes.sizes import thicker
from ...operation.load_drops import BATTERY, falls_short, feed_of
from ...operation.load_status import load_status, must_get_volts
from ...rule import Rule
from ...study import Study

if TYPE_CHECKING:
    from ....lang.circuit.branch import Branch
    from ...operation.operation import OperatingPoint

WORTH_NAMING = 0.2
"""Of the whole voltage drop, the share from which a conductor is named as a cause (ours)."""
CAUSES: Final = 3
"""This many conductors are named as causes (ours)."""


def find(study: Study) -> Iterator[Finding]:
    allowed = study.protection.profile.volt_share
    for branch in study.circuit.branches:
        if not must_get_volts(branch):
            continue
        worst: tuple[float, OperatingPoint] | None = None
        starved: tuple[float, OperatingPoint] | None = None
        for point in study.operation.points.values():
            feed, _ = feed_of(point, branch)
            if feed <= 0.0 or not point.connectivity.joined(branch.key):
                continue
            stand = load_status(point, branch.key)
            if stand is None:
                continue
            share = abs(point.across(branch.key)) / feed
            if stand.word != "live" and (starved is None or exceeds(starved[0], stand.share)):
                starved = (stand.share, point)
            if falls_short(share, allowed) and (worst is None or exceeds(worst[0], share)):
                worst = (share, point)
        if starved is not None and not _battery_alone(study, branch, starved[1]):
            yield _finding(study, branch, starved[1], starved=True)
        elif worst is not None:
            yield _finding(study, branch, worst[1], starved=False)


def _battery_alone(study: Study, branch: Branch, point: OperatingPoint) -> bool:
    """Whether an ignition is short of volts because the battery is pulled down by the starter, and loses no more than
    is allowed on the way: `cranking-brownout` says so.
    """
    (feed, whose), across = feed_of(point, branch), abs(point.across(branch.key))
    sparks = branch.branch_type is BranchType.IGNITION or getattr(
        study.harness.parts[branch.part], "is_ignition", False
    )
    return (
        point.engine == "cranking"
        and sparks
        and whose == BATTERY
        and not falls_short(across / feed, study.protection.profile.volt_share)
    )


def _finding(study: Study, branch: Branch, point: OperatingPoint, *, starved: bool) -> Finding:
    (feed, whose), across = feed_of(point, branch), abs(point.across(branch.key))
    way = point.connectivity.losses(branch.key)
    behind = 1 + next((i for i, (b, _) in enumerate(way) if b.key == whose), -1)  # what a reference has lost is its own
    losses = [(b, volts) for b, volts in way[behind:] if volts > 0.0]
    lost = sum(volts for _, volts in losses)
    profile = study.protection.profile
    enough = not falls_short(
        across / feed, profile.volt_share
    )  # the load is made for another voltage, or its text does not say so
    causes = [] if enough else ranked((c for c in losses if c[1] >= WORTH_NAMING * lost), key=lambda c: c[1])
    status = load_status(point, branch.key) if starved else None
    needs = across * status.works / status.share if status is not None and status.share > 0.0 else 0.0
    allowed = feed - max(profile.volt_share * feed, needs)  # what it needs to work may be more than the share
    thicker_ones = thicker_for_drop(study, losses, allowed, across) if starved or not enough else ()
    owners, named = (branch.part, *(b.owner for b, _ in causes)), causes[:CAUSES]
    return RULE.found(
        "starved" if starved else "low",
        branch.span,
        facts={
            "load": branch.key,
            "part": branch.part,
            "voltage": Quantity(across, "V"),
            "source": whose,
            "feed": Quantity(feed, "V"),
            "share": Quantity(across / feed * 100.0, "%"),
            "limit": Quantity(profile.volt_share * 100.0, "%"),
            "causes": tuple(b.key for b, _ in named),
            **_drops(named),
        },
        level=Level.ERROR if starved else Level.WARNING,
        about=tuple(dict.fromkeys(owners)),
        state=point.state,
        path=tuple(b.key for b, _ in way),
        figures=(
            Figure("across the load", across, "V"),
            Figure("battery" if whose == BATTERY else whose, feed, "V"),
            *(Figure(f"drop across {b.key}", volts, "V") for b, volts in named),
        ),
        source=f"{profile.source('volt_share')}; profile {profile.title}",
        proposals=thicker_ones,
        fix="higher-feed"
        if enough and behind
        else "sized"
        if thicker_ones
        else "battery"
        if needs > feed
        else "thicker",
        # What is lost in one place is one thing to repair, however many loads lie behind it.
        group=" ".join((point.state, *sorted(b.key for b, _ in named))) if named else "",
        rank=across / feed,
    )


def _drops(causes: list[tuple[Branch, float]]) -> dict[str, Fact]:
    """Each cause and its drop in V to a hundredth, as facts by their rank: ``cause_1``, ``drop_1``; empty beyond."""
    facts: dict[str, Fact] = {}
    for rank in range(CAUSES):
        cause, volts = causes[rank] if rank < len(causes) else (None, 0.0)
        facts[f"cause_{rank + 1}"] = cause.key if cause else ""
        facts[f"drop_{rank + 1}"] = Quantity(round(volts, 2), "V") if cause else ""
    return facts


_DROPS: Final = "[; drop across {cause_1} {drop_1}][, {cause_2} {drop_2}][, {cause_3} {drop_3}]"

RULE = Rule(
    name="voltage-drop",
    level=Level.ERROR,
    family="behaviour",
    stage=Stage.CONSEQUENCE,
    catches="a live load below 95 % of the battery's voltage in a named state; below what it needs to work: an error",
    why="""Voltage that drops across wires and contacts is missing at the load and heats the wires. A filament at 90 %
    of its voltage gives 70 % of its light; a horn works from 60 % on, a pump from 50 %, but weaker. The drop grows with
    every joint that ages, so a harness that is just good enough on the bench may not be after a winter.""",
    source="95 %: Loomwright's limit; ABYC E-11 allows 3 % for what matters and 10 % for the rest, as profiles of "
    "that name",
    formula="""found where voltage across the load < 95 % of the voltage at the battery's posts, or of the unit's output
   that regulates it, in the same state, by more than 0.01 % of it, since nobody measures less; of no tell-tale,
   and of no relay coil, which weak-relay judges
   an error where it gets less than the share from which its kind works""",
    cautions="Measure drops with the load on and your hands out of moving parts; a lamp or a heater may be hot.",
    says={
        "low": f"{{load}} gets {{voltage}} of {{source}}'s {{feed}} ({{share}}, under {{limit}}){_DROPS}",
        "starved": f"{{load}} gets {{voltage}} of {{source}}'s {{feed}} ({{share}}, too little to work){_DROPS}",
    },
    fixes={
        "higher-feed": "feed {load} from a higher voltage than {source}, or write the voltage that it works from on "
        "its line, `needs … V`",
        "battery": "measure {source} in this state: {load} cannot get more than its {feed}; charge the battery and "
        "test it under load, or fit a part that works from less",
        "sized": "",
        "thicker": "measure the drop across each part of the feed and the return of {part}[, first {causes}]: clean or "
        "replace contacts that drop over 0.1 V, shorten the wires, or fit a relay near {part}",
    },
    find=find,
    fix=thicker,
)
