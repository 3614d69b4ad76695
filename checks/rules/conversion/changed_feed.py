"""A kept part that is fed, grounded or live under another condition than in the old harness."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from ....lang.model.parts import Load, Rectifier, Regulator, Source, Switch, Unit
from ....lang.quantities.quantity import Quantity
from ...conversion.blocked import back_path, blocking_diode_before, gets_more
from ...conversion.through_loads import NO_FEED
from ...findings.finding import Finding, Level
from ...fixes.backfeed import blocking_diode
from ...rule import Rule
from ...study import Study
from ...tables.spares import resistance_near, spare_rating

if TYPE_CHECKING:
    from ....lang.model.parts import Part
    from ...conversion.comparison import Change, Comparison, FeedChange
    from ...findings.facts import Fact

GRAVE: Final = frozenset({"ignition", "starting", "charging"})
HOW: Final = {
    "fed": "fed from the battery",
    "charged": "connected to the charging output",
    "returned": "connected to ground",
    "live": "live",
    "charges": "charging",
}
"""What a part is or is not, in words."""


def find(study: Study) -> Iterator[Finding]:
    comparison = study.comparison
    if comparison is None:
        return
    for old, new in comparison.match.kept:
        reason = comparison.match.declared("changes", new.name, old.name)
        with study.judging(new.name):
            found = [_change(comparison, old, new, change) for change in comparison.changes(old, new)]
            found += [_feed(study, comparison, old, new, change) for change in comparison.feed_changes(old, new)]
            yield from (replace(each, waived=reason) for each in found)


def _change(comparison: Comparison, old: Part, new: Part, change: Change) -> Finding:
    row = change.difference.row
    controls = change.own
    when = tuple(f"{control} {position}" for control, position in change.when)
    return RULE.found(
        f"{row}-{change.sort}",
        new.span,
        facts={"what": change.what, "when": when, "controls": controls, "part": new.name, "weak": change.weak},
        level=_level(old, new, row, implausible=change.difference.implausible),
        fix="charges" if change.sort == "charges" else row.partition("-")[0],
        about=(new.name,),
        combination=change.when,
        group=" ".join((row, change.sort, *when, *controls)),
        rank=float(list(comparison.match.old_of).index(new.name)),
    )


def _feed(study: Study, comparison: Comparison, old: Part, new: Part, change: FeedChange) -> Finding:
    was, now = change.old, change.new
    when = tuple(f"{control} {position}" for control, position in change.when)
    known = bool(was.amps and was.source)
    case = "less" if now.amps < was.amps else "more"
    if min(was.amps, now.amps) < NO_FEED:
        case = "none" if case == "less" else "new"
    fix = "resistor" if known and now.amps < was.amps else "less-current"
    facts: dict[str, Fact] = {}
    if now.amps > was.amps:
        before = blocking_diode_before(comparison, old, change)
        fix = "as-before" if case == "more" else fix
        fix = "diode-again" if before else fix
        fitted = _diode(study, comparison, change) if before else ""
        facts = {"diode": before, "fitted": fitted or "fit it again, its band (cathode) as it was"}
    return RULE.found(
        f"{case}-through-loads",
        new.span,
        facts={
            "what": change.what,
            "when": when,
            "part": new.name,
            "old_loads": was.through,
            "new_loads": now.through,
            "old_current": Quantity(was.amps, "A"),
            "new_current": Quantity(now.amps, "A"),
            "resistance": Quantity(resistance_near(was.source / was.amps) if known else 0.0, "ohm"),
            "power": Quantity(spare_rating("resistor", was.source * was.amps) or 2.0 * was.source * was.amps, "W"),
            **facts,
        },
        level=Level.ERROR if _is_severe(old, new) else Level.WARNING,
        fix=fix,
        about=(new.name,),
        combination=change.when,
        group=" ".join(("through", *when, *was.through, *now.through)),
    )


def _diode(study: Study, comparison: Comparison, change: FeedChange) -> str:
    """Where in the new harness a diode keeps that current from a terminal, as an imperative; empty where none does."""
    for through in change.new.through:
        path = back_path(comparison, change, through)
        blocked = blocking_diode(study, path, lambda trial: not gets_more(comparison, change, trial))
        if blocked is not None:
            return blocked.says
    return ""


def _level(old: Part, new: Part, row: str, *, implausible: bool) -> Level:
    """By what has changed: errors of parts that a ride or a stop depends on only; one lower where hardly ever met."""
    severe = _is_severe(old, new)
    if row == "instead":
        return Level.NOTE
    level = Level.ERROR if severe else Level.WARNING
    if row == "independent" and not (_sparks(new) or "starting" in (old.system, new.system)):
        level = Level.WARNING
    return Level(level - 1) if implausible else level


def _is_severe(old: Part, new: Part) -> bool:
    return (
        bool(GRAVE & {old.system, new.system})
        or _sparks(new)
        or isinstance(new, Rectifier | Regulator)
        or (isinstance(new, Source) and new.what != "battery")
        or (isinstance(new, Switch) and any(position.name == "stop" for position in new.positions))
    )


def _sparks(part: Part) -> bool:
    return isinstance(part, Load | Unit) and part.is_ignition


def _says() -> dict[str, str]:
    said = {
        "lost": "{{what}} was {how} in the old harness[ ({{when}})]; in this one it never is",
        "gained": "{{what}} is {how}[ ({{when}})]; in the old harness it never was",
        "depends": "{{what}} was always {how}[ with {{when}}] in the old harness; now it is not always"
        "[: that depends on {{controls}}]",
        "independent": "{{what}} is now always {how}[ with {{when}}]; in the old harness it was not always"
        "[: that depended on {{controls}}]",
        "instead": "whether {{what}} is {how}[ ({{when}})] depends on {{controls}} now",
        "weakly-lost": "{{what}} was {how} in the old harness[ ({{when}})]; in this one it is not"
        "[: {{weak}} can work on what comes through other loads]",
        "weakly-gained": "{{what}} is {how}[ ({{when}})]; in the old harness it was not"
        "[: {{weak}} can work on what comes through other loads]",
    }
    return {f"{row}-{sort}": text.format(how=how) for row, text in said.items() for sort, how in HOW.items()}


RULE = Rule(
    name="changed-feed",
    level=Level.ERROR,
    family="conversion",
    catches="a kept part fed, grounded or live under another condition than in the old harness",
    why="""A kept part must get from the new harness what it got from the old one. An alternator whose field got its
    first current through the charge lamp does not charge through an LED; an ignition box that the stop switch used to
    feed runs on when the new harness feeds it past that switch. Each terminal of each kept part is compared in every
    combination of the controls that both harnesses have.""",
    source="Loomwright's analysis: every combination of the common controls; through loads a search, with "
    "voltage and current alike within 5 %",
    formula="""compared: every terminal of a kept part, in every combination of the controls that both harnesses have
found where it can be fed, grounded or live in one harness and not in the other
   or where it is so in every position of what only one harness has, and not in the other harness
   or where voltage or current that comes through other loads differs by more than 5 %""",
    cautions="Try the stop switch, and measure the charge, before the first ride on a rebuilt harness.",
    says={
        **_says(),
        "lost-charges": "{what} could charge in the old harness[ ({when})]; in this one it never does",
        "depends-charges": "{what} always started to charge[ with {when}] in the old harness; now it may fail to"
        "[: that depends on {controls}]",
        "less-through-loads": "{what} got up to {old_current}[ through {old_loads}][ ({when})] in the old harness; "
        "in this one it gets {new_current}",
        "more-through-loads": "{what} gets up to {new_current}[ through {new_loads}][ ({when})]; "
        "in the old harness it got {old_current}",
        "none-through-loads": "{what} got up to {old_current}[ through {old_loads}][ ({when})] in the old harness; "
        "in this one it gets no current",
        "new-through-loads": "{what} gets up to {new_current}[ through {new_loads}][ ({when})]; "
        "in the old harness it got no current",
    },
    fixes={
        "lost": "connect {what} as in the old harness; if the difference is meant, declare it: "
        'changes {part} because "..."',
        "gained": "find what connects {what} then, and take it off; if the difference is meant, declare it: "
        'changes {part} because "..."',
        "depends": "connect {what} as in the old harness[, not through {controls}]; if the difference is meant, "
        "declare it: "
        'changes {part} because "..."',
        "independent": "connect {what} as in the old harness[, through {controls}]; if the difference is meant, "
        'declare it: changes {part} because "..."',
        "weakly": "wire {weak} so that it gets no current through other loads; if the difference is meant, "
        'declare it: changes {part} because "..."',
        "instead": 'declare that this is meant: changes {part} because "..."',
        "charges": "feed the field the first current that it had in the old harness; if the difference is meant, "
        'declare it: changes {part} because "..."',
        "resistor": "feed it as before, or through a resistor of {resistance}, {power} or more; "
        'if the difference is meant, declare it: changes {part} because "..."',
        "diode-again": "a diode is missing that was in this way in the old harness, {diode}: {fitted}; if the "
        'difference is meant, declare it: changes {part} because "..."',
        "as-before": "feed {what} as in the old harness; if the difference is meant, declare it: "
        'changes {part} because "..."',
        "less-current": "find what else feeds {what}, and take it off; if the difference is meant, "
        'declare it: changes {part} because "..."',
    },
    find=find,
)
