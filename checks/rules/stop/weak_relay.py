"""A relay whose coil voltage is too low to pull in."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from ....lang.model.parts import Relay
from ....lang.quantities.quantity import Quantity
from ...dc.devices import UnsolvableError
from ...dc.relay_fixed_point import drops_out, pulls_in
from ...findings.finding import Figure, Finding, Level, Stage
from ...fixes.drops import thicker_for_drop
from ...operation.load_status import battery_volts
from ...rule import Rule
from ...study import Study
from ...tables.batteries import battery_figure, load_test_volts
from ...tables.device_constants import law_source

if TYPE_CHECKING:
    from ....lang.circuit.branch import Branch
    from ...operation.operation import OperatingPoint


def find(study: Study) -> Iterator[Finding]:
    for part in study.harness.parts.values():
        coil = study.circuit.coil_of(part.name)
        if isinstance(part, Relay) and coil is not None:
            found = _warm(study, part, coil) or _hard(study, part, coil)
            if found is not None:
                yield found


def _warm(study: Study, part: Relay, coil: Branch) -> Finding | None:
    needed = pulls_in(part, study.harness.volts)
    for point, history in study.operation.left_before.ways:
        across = abs(point.across(coil.key))
        if across >= needed or not point.connectivity.joined(coil.key):
            continue
        pulled = part.name in point.memory.pulled
        if _holds_itself(study, part, point):
            continue
        cold = study.hard_start.on_cold(point) if point.engine == "cranking" else None
        # What the starter needs to turn lets the battery recover when it drops out, and pulls in again.
        chatters = pulled and point.engine == "cranking" and _starts(study, part, point)
        posts, losses = battery_volts(point), point.connectivity.losses(coil.key)
        tested = load_test_volts(study.harness.volts)
        weak = point.engine == "cranking" and posts < tested
        thicker = () if weak else thicker_for_drop(study, losses, posts - needed, across)
        return RULE.found(
            "weak-chatters" if chatters else "weak-once-released" if pulled else "weak",
            part.span,
            facts={
                "relay": part.name,
                "volts": Quantity(across, "V"),
                "limit": Quantity(needed, "V"),
                "history": history,
                "posts": Quantity(posts, "V"),
                "battery": next((s.name for s in point.connectivity.sources if s.kind == "battery"), ""),
                "load_test": Quantity(tested, "V"),
            },
            about=(part.name,),
            state=point.state,
            path=tuple(b.key for b, _ in losses),
            proposals=thicker,
            figures=(
                Figure("across the coil", across, "V"),
                Figure("pulls in from", needed, "V"),
                *((Figure("across the coil, battery at -18 degC", abs(cold.across(coil.key)), "V"),) if cold else ()),
            ),
            source=_source(part),
            fix="posts" if weak else "pulls" if posts < needed else "drop" if thicker else "feed",
        )
    return None


def _holds_itself(study: Study, part: Relay, point: OperatingPoint) -> bool:
    """Whether a relay is in only because it was in before: whoever wants it in again switches it on as before."""
    first = study.operation.points[point.state]
    return part.name in point.memory.pulled and part.name not in first.memory.pulled


def _hard(study: Study, part: Relay, coil: Branch) -> Finding | None:
    """A relay that pulls in on a warm battery, and drops out when the starter begins to turn or fails when cold."""
    system = study.harness.volts
    needed, held = pulls_in(part, system), drops_out(part, system)
    hard = study.hard_start
    for point, history in study.operation.left_before.ways:
        if point.engine != "cranking" or not point.connectivity.joined(coil.key) or _holds_itself(study, part, point):
            continue
        warm = abs(point.across(coil.key))
        if part.holds is not None and part.name in hard.drop_out_at_first(point):
            return RULE.found(
                "inrush",
                part.span,
                facts={"relay": part.name, "limit": Quantity(held, "V"), "history": history},
                about=(part.name,),
                state=point.state,
                figures=(Figure("across the coil, starter turning", warm, "V"), Figure("drops out below", held, "V")),
                source=f"{_source(part)}; first moment: {battery_figure('starter_inrush').cited}",
            )
        if warm - hard.most_lost(point) >= needed:
            continue
        cold = hard.on_cold(point)
        gets = None if cold is None else abs(cold.across(coil.key))
        if gets is None or gets >= needed or _starts(study, part, point):
            continue
        return RULE.found(
            "cold",
            part.span,
            facts={
                "relay": part.name,
                "volts": Quantity(gets, "V"),
                "limit": Quantity(needed, "V"),
                "history": history,
            },
            level=Level.NOTE,
            about=(part.name,),
            state=point.state,
            figures=(
                Figure("across the coil", warm, "V"),
                Figure("across the coil, battery at -18 degC", gets, "V"),
                Figure("pulls in from", needed, "V"),
            ),
            source=f"{_source(part)}; cold: {battery_figure('cold_resistance').cited}",
        )
    return None


def _starts(study: Study, part: Relay, point: OperatingPoint) -> bool:
    """Whether the starter needs this relay: then it has pulled in before the starter drew anything, and it holds."""
    try:
        without = study.operation.without([part.name]).at(point.positions, pinned=point.pinned)
    except UnsolvableError:
        return False
    armatures = study.protection.cranking_path.armatures
    return any(point.connectivity.joined(b.key) and not without.connectivity.joined(b.key) for b in armatures)


def _source(part: Relay) -> str:
    return "the harness: its own `pulls`" if part.pulls is not None else str(law_source("relay_pull_share"))


RULE = Rule(
    name="weak-relay",
    level=Level.WARNING,
    family="stop",
    stage=Stage.CONSEQUENCE,
    catches="a relay coil below its pull-in voltage in a state in which the relay must pull in, cranking above all",
    why="""A relay below its pull-in voltage hums, chatters and burns its contacts, or does not move, and does so when
    it is needed most: with a cold engine, a low battery and the starter turning. Every volt dropped in the ignition
    switch, the stop switch and the interlocks before the coil counts.""",
    source="pull-in at 0.67 of the nominal voltage where none is written: makers' data sheets, 8 V for 12 V",
    formula="found where the coil is connected to a source and has < `pulls` V across it (0.67 of nominal where left "
    "out); a note where only with the battery's resistance doubled, but of no relay that the starter needs, which "
    "pulled in before that drew anything; a warning where it falls below a written `holds` while the starter draws "
    "twice its current",
    cautions="Crank in neutral, with the motorcycle on its stand; a relay that chatters may weld.",
    says={
        "weak": "{relay} has {volts} across its coil[ with {history}], and pulls in from {limit}: it does not pull in",
        "weak-chatters": "{relay} has {volts} across its coil while the starter turns[ with {history}], and pulls in "
        "from {limit}: once it drops out it clicks or chatters",
        "weak-once-released": "{relay} has {volts} across its coil[ with {history}], and pulls in from {limit}: once "
        "it has dropped out it does not pull in again",
        "inrush": "{relay} drops out below {limit}, and the voltage of its coil falls below that when the starter "
        "begins to turn[ with {history}]: it chatters",
        "cold": "{relay} has {volts} across its coil on a cold battery[ with {history}], and pulls in from {limit}: "
        "once it has dropped out it does not pull in while the starter turns",
    },
    fixes={
        "posts": "charge {battery} and load it at half its cold-cranking current for 15 s at 20 degC; replace it where "
        "it falls below {load_test} (less in the cold): it has only {posts} at its posts while cranking, and thicker "
        "wires cannot raise that",
        "pulls": "fit a relay that pulls in from less than the {posts} of {battery}, or correct `pulls` of {relay}",
        "drop": "measure the drop across each contact in that feed, and clean what drops over 0.1 V",
        "feed": "measure the drop across each contact and wire in the feed of the coil of {relay}, and feed it from "
        "nearer the battery",
        "inrush": "charge the battery and test it under load; feed the coil of {relay} from the battery's posts, not "
        "from the starter's lead",
        "cold": "charge the battery, test it under load before winter, and clean and tighten its terminals",
    },
    find=find,
)
