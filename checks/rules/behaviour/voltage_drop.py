"""A load that gets too little of the battery's volts."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ....lang.quantities.quantity import Quantity, apart, shown
from ...dc.devices import reference_volts
from ...findings.finding import Figure, Finding, Level, Stage
from ...fixes.sizes import thicker
from ...operation.load_status import battery_volts, load_status, must_get_volts
from ...rule import Rule
from ...study import Study

if TYPE_CHECKING:
    from ....lang.circuit.branch import Branch
    from ...operation.operation import OperatingPoint

WORTH_NAMING = 0.2
"""Of the volts lost, the share from which a conductor is named as a cause (ours)."""


def find(study: Study) -> Iterator[Finding]:
    allowed = study.protection.profile.volt_share
    for branch in study.circuit.branches:
        if not must_get_volts(branch):
            continue
        worst: tuple[float, OperatingPoint] | None = None
        starved: tuple[float, OperatingPoint] | None = None
        for point in study.operation.points.values():
            feed, _ = _feed(point, branch)
            if feed <= 0.0 or not point.connectivity.joined(branch.key):
                continue
            stand = load_status(point, branch.key)
            if stand is None:
                continue
            share = abs(point.across(branch.key)) / feed
            if stand.word != "live" and (starved is None or stand.share < starved[0]):
                starved = (stand.share, point)
            if share < allowed and (worst is None or share < worst[0]):
                worst = (share, point)
        if starved is not None:
            yield _finding(study, branch, starved[1], starved=True)
        elif worst is not None:
            yield _finding(study, branch, worst[1], starved=False)


def _feed(point: OperatingPoint, branch: Branch) -> tuple[float, str]:
    """V that a load is measured against, and of what: a reference output's own, where it has its feed from one."""
    references = point.flow.network.references
    if references:
        for each, _ in point.connectivity.losses(branch.key):
            if each.key in references:
                return reference_volts(each, point.circuit.harness) or 0.0, each.key
    return battery_volts(point), "the battery"


def _finding(study: Study, branch: Branch, point: OperatingPoint, *, starved: bool) -> Finding:
    (feed, whose), across = _feed(point, branch), abs(point.across(branch.key))
    way = point.connectivity.losses(branch.key)
    behind = 1 + next((i for i, (b, _) in enumerate(way) if b.key == whose), -1)  # what a reference has lost is its own
    losses = [(b, volts) for b, volts in way[behind:] if volts > 0.0]
    lost = sum(volts for _, volts in losses)
    profile = study.protection.profile
    enough = across >= profile.volt_share * feed  # the load is made for another voltage, or its text does not say so
    causes = [] if enough else sorted((c for c in losses if c[1] >= WORTH_NAMING * lost), key=lambda c: -c[1])
    where = ", ".join(f"{b.key} {shown(volts, 2)} V" for b, volts in causes[:3])
    share, least = apart(Quantity(across / feed * 100.0, "%"), Quantity(profile.volt_share * 100.0, "%"))
    limit = "too little to work" if starved else f"under {least}"
    owners = (branch.part, *(b.owner for b, _ in causes))
    return Finding(
        rule=RULE.name,
        level=Level.ERROR if starved else Level.WARNING,
        message=f"{branch.key} gets {shown(across)} V of {whose}'s {shown(feed)} V ({share}, {limit})"
        + (f"; lost in {where}" if where else ""),
        span=branch.span,
        about=tuple(dict.fromkeys(owners)),
        state=point.state,
        path=tuple(b.key for b, _ in way),
        figures=(
            Figure("across the load", across, "V"),
            Figure(whose.removeprefix("the "), feed, "V"),
            *(Figure(f"lost in {b.key}", volts, "V") for b, volts in causes[:3]),
        ),
        source=f"profile {profile.title}: {profile.source('volt_share')}",
        remedy=f"feed {branch.key} by more than {whose}, or write what it works from, `needs … V`, on its line"
        if enough and behind
        else (f"use thicker or shorter wires where the voltage is lost ({where}), " if where else "use thicker wires, ")
        + f"or fit a relay near {branch.part}",
        # What is lost in one place is one thing to mend, however many loads lie behind it.
        group=" ".join((point.state, *sorted(b.key for b, _ in causes[:3]))) if where else "",
        rank=across / feed,
    )


RULE = Rule(
    name="voltage-drop",
    level=Level.ERROR,
    family="behaviour",
    stage=Stage.CONSEQUENCE,
    catches="a live load below 95 % of the battery's volts in a named state; below what it needs to work: an error",
    why="""Volts that are lost on the way do nothing for the load and warm what loses them. A filament at 90 % of its
    volts gives 70 % of its light, and a horn works from 60 % on, a pump from 50 %, but weaker. The loss grows
    with every joint that ages, so a harness that is just good enough on the bench is not after a winter.""",
    source="95 %: ours; ABYC E-11 allows 3 % for what matters and 10 % for the rest, as profiles of that name",
    formula="""found where volts across the load < 95 % of the volts at the battery's posts, in the same state
   an error where it gets less than the share from which its kind works""",
    cautions="Measure drops with the load on and your hands out of moving parts; a lamp or a heater may be hot.",
    find=find,
    fix=thicker,
)
