"""A battery, a lamp or a coil of another voltage than the system's."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Literal

from ....lang.circuit.branch_types import BranchType
from ....lang.model.parts import Source
from ....lang.quantities.quantity import Quantity
from ...findings.finding import Figure, Finding, Level
from ...rule import Rule
from ...study import Study
from ...tables.device_constants import law_source, laws

if TYPE_CHECKING:
    from ....lang.circuit.branch import Branch
    from ...operation.operation import OperatingPoint


def find(study: Study) -> Iterator[Finding]:
    yield from _of_the_battery(study)
    yield from _of_elements(study)


def _of_the_battery(study: Study) -> Iterator[Finding]:
    harness = study.harness
    batteries = [part for part in harness.parts.values() if isinstance(part, Source) and part.what == "battery"]
    # Several may be in series, or one may be that of something else: what stands alone is what the system has.
    if len(batteries) != 1:
        return
    battery, volts = batteries[0], batteries[0].volts
    if volts is None:
        return
    least, most = _near(harness.volts)
    if least <= volts <= most:
        return
    yield RULE.found(
        "battery",
        battery.span,
        facts={
            "battery": battery.name,
            "voltage": Quantity(volts, "V"),
            "system": Quantity(harness.volts, "V"),
            "least": Quantity(least, "V"),
            "most": Quantity(most, "V"),
        },
        about=(battery.name,),
        figures=(
            Figure("battery", volts, "V"),
            Figure("at least", least, "V"),
            Figure("at most", most, "V"),
        ),
        source=str(law_source("battery_most_share")),
    )


def _near(system: float) -> tuple[float, float]:
    """V between which a battery or a rating is one of the system; rounded, so that 0.8 x 12 V is 9.6 V and no more."""
    return round(laws().battery_least_share * system, 6), round(laws().battery_most_share * system, 6)


def _of_elements(study: Study) -> Iterator[Finding]:
    """Elements and coils that say what voltage they are made for, and get another one."""
    system = study.harness.volts
    for branch in study.circuit.branches:
        with study.judging(branch.part):
            made_for = branch.made_for(system)
            if made_for == system or branch.branch_type not in _TOLD or _is_starter(study, branch):
                continue
            if branch.key in study.operation.alternating:
                continue  # what a winding gives depends on the speed: overvoltage, exchanged-windings
            # A coil behind a ballast gets the full voltage while the engine is cranked, and that is meant.
            if study.behaviour.straight_on(branch.key):
                least, most = _near(system)
                if not least <= made_for <= most:
                    yield _on_the_system(branch, made_for, system)
            elif (point := _overfed(study, branch, made_for)) is not None:
                yield _in_series(branch, made_for, point)


def _is_starter(study: Study, branch: Branch) -> bool:
    """A starter of the old voltage is often kept in a conversion: it runs for seconds, and its owner knows."""
    return branch.branch_type is BranchType.MOTOR and study.harness.parts[branch.part].system == "starting"


def _overfed(study: Study, branch: Branch, made_for: float) -> OperatingPoint | None:
    """The first named state in which something in series with others gets too much, cranking left out."""
    most = laws().battery_most_share * made_for
    points = (point for point in study.operation.points.values() if point.engine != "cranking")
    return next((point for point in points if abs(point.across(branch.key)) > most), None)


def _on_the_system(branch: Branch, made_for: float, system: float) -> Finding:
    how: _How = "over" if made_for < system else "under"
    return RULE.found(
        _case(branch.branch_type, how),
        branch.span,
        facts={"load": branch.key, "rated": Quantity(made_for, "V"), "system": Quantity(system, "V")},
        about=(branch.part,),
        fix=how,
        figures=(Figure("rated", made_for, "V"), Figure("system", system, "V")),
        source=str(law_source("battery_most_share")),
    )


def _in_series(branch: Branch, made_for: float, point: OperatingPoint) -> Finding:
    gets, most = abs(point.across(branch.key)), laws().battery_most_share * made_for
    return RULE.found(
        _case(branch.branch_type, "in-series"),
        branch.span,
        facts={
            "load": branch.key,
            "rated": Quantity(made_for, "V"),
            "voltage": Quantity(gets, "V"),
            "most": Quantity(most, "V"),
        },
        about=(branch.part,),
        fix="in-series",
        state=point.state,
        figures=(Figure("rated", made_for, "V"), Figure("gets", gets, "V"), Figure("at most", most, "V")),
        source=str(law_source("battery_most_share")),
    )


_LAMP = ("it soon burns out", "it stays dim")
_COIL = ("it overheats", "it may not pull in")
_TOLD = {
    BranchType.LAMP: _LAMP,
    BranchType.LED: _LAMP,
    BranchType.COIL: _COIL,
    BranchType.SOLENOID: ("it overheats", "it may not move"),
    BranchType.IGNITION: ("it overheats", "its spark is weak"),
    BranchType.HORN: ("it overheats", "it may not sound"),
    BranchType.MOTOR: ("it runs too fast and overheats", "it runs slowly"),
    BranchType.PUMP: ("it runs too fast and overheats", "it runs slowly"),
    BranchType.HEATER: ("it overheats", "it stays cool"),
    BranchType.ELECTRONICS: ("it may be destroyed", "it may not work"),
}
"""What happens to each kind above its rated voltage, and below."""

_How = Literal["over", "under", "in-series"]


def _case(kind: BranchType, how: _How) -> str:
    return f"{kind.name.lower()}-{how}"


def _says() -> Iterator[tuple[str, str]]:
    """The templates of loads, by case: each kind over and under its rated voltage, and over it in series."""
    for kind, (over, under) in _TOLD.items():
        yield _case(kind, "over"), f"{{load}} is rated {{rated}}, and the system is {{system}}: {over}"
        yield _case(kind, "under"), f"{{load}} is rated {{rated}}, and the system is {{system}}: {under}"
        series = f"{{load}} is rated {{rated}} and gets {{voltage}} in series, at most {{most}} is allowed: {over}"
        yield _case(kind, "in-series"), series


RULE = Rule(
    name="wrong-voltage",
    level=Level.WARNING,
    family="behaviour",
    catches="the only battery, a lamp, a coil or another load whose voltage is not near the system's",
    why="""Every lamp, coil and relay is calculated at the voltage of the system, and every current from that of the
    battery. With a decimal point in the wrong place, or a system changed from 6 V to 12 V in one place of the file
    only, all figures are wrong; where the wrong battery really is fitted, so is every bulb. A 6 V bulb that was left in
    a 12 V system draws half as much current again and burns out, a 6 V relay coil draws twice its current and
    overheats; a 12 V coil on 6 V does not pull in. Two 6 V loads in series on 12 V are sound while both draw the same
    current.""",
    source="0.8 to 1.25 of the rated voltage: Loomwright's limit",
    formula="found where the only battery, or what a load says `at`, is < 0.8 or > 1.25 x the system's voltage; in "
    "series where a load gets > 1.25 x what it says in a named state; a starter motor is left out",
    cautions="Measure with every load switched off, one hand on the probe: above some 60 V a battery can give a shock.",
    says={
        "battery": "{battery} has {voltage}, and the system is {system}: {least} to {most} is allowed",
        **dict(_says()),
    },
    fixes={
        "battery": "write in `voltage` the voltage of the battery at rest, or correct `system`: 6 V, 12 V or 24 V",
        "over": "fit one rated {system} at {load}, or find out which resistor belongs in series with it",
        "under": "fit one rated {system} at {load}",
        "in-series": "connect {load} in series only with loads that draw the same current, or fit one rated for the "
        "full voltage",
    },
    find=find,
)
