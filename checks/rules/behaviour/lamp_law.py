"""Lamps that do not go together as laws ask."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import TYPE_CHECKING

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType
from ....lang.circuit.ids import BranchId
from ....lang.circuit.paths import walked
from ....lang.model.parts import Element, UnitOutput
from ....lang.records import dataclass
from ...behaviour.by_numbers import solved
from ...behaviour.interlocks import in_gear
from ...findings.facts import Fact
from ...findings.finding import Finding, Level
from ...fixes.backfeed import blocking_diode
from ...operation.load_status import load_status
from ...rule import Rule
from ...study import Study

if TYPE_CHECKING:
    from ....lang.editing.proposals import Proposal
    from ...behaviour import Behaviour, Combination
    from ...behaviour.cases import Cases, Space
    from ...operation.operation import Operation


INTERLOCKS = ("clutch", "stand")
"""What else may let a starter turn beside neutral, by what its switch senses."""


@dataclass(frozen=True, slots=True)
class _Lamps:
    """The lamps of a harness by what law asks of them; tell-tales are apart."""

    study: Study

    def of(self, *roles: str, tell_tale: bool = False) -> list[Branch]:
        return [
            b
            for b in self.study.circuit.branches
            if isinstance(b.item, Element)
            and set(roles) & set(b.item.roles)
            and ("tell-tale" in b.item.roles) == tell_tale
        ]


def find(study: Study) -> Iterator[Finding]:
    lamps = _Lamps(study)
    for roles, find_of in (
        (("dip-beam", "main-beam", "tail-lamp", "plate-lamp"), _tail_with_head),
        (("dip-beam", "main-beam"), _head_dark_between_beams),
        (("main-beam",), _main_beam_tell_tale),
        (("turn-left", "turn-right"), _turn_lamps),
        (("stop-lamp",), _stop_lamp_steady),
    ):
        with study.judging(*dict.fromkeys(lamp.part for lamp in lamps.of(*roles))):
            yield from find_of(study, lamps)
    yield from _neutral_tell_tale(study, lamps)


def _space(behaviour: Behaviour, branches: list[Branch]) -> tuple[Space, Callable[[Branch], Cases]]:
    """Every combination that matters to some lamps, and where each is live in it for some position of what nobody
    sets.
    """
    space = behaviour.space(*(behaviour.live(branch.key) for branch in branches))
    return space, lambda branch: space.where(behaviour.live(branch.key)) & space.possible


def _shown(wrong: Cases, among: Cases) -> Combination | None:
    """Where something is wrong, nearest to rest; of what holds ``among`` all these lamps, only what tells it apart."""
    return wrong.shown(alike=wrong | ~among)


def _found(
    case: str,
    lamp: Branch,
    shown: Combination,
    facts: Mapping[str, Fact],
    *others: Branch,
    path: tuple[str, ...] = (),
    fix: str | None = None,
    proposals: tuple[Proposal, ...] = (),
) -> Finding:
    return RULE.found(
        case,
        lamp.span,
        facts={"lamp": lamp.key, **facts},
        about=(lamp.part, *(other.part for other in others)),
        shown=shown,
        path=path,
        fix=fix,
        proposals=proposals,
    )


def _tail_with_head(study: Study, lamps: _Lamps) -> Iterator[Finding]:
    behaviour = study.behaviour
    for head in lamps.of("dip-beam", "main-beam"):
        for rear in lamps.of("tail-lamp", "plate-lamp"):
            space, live = _space(behaviour, [head, rear])
            lit = live(head) & space.plausible
            shown = _shown(lit - live(rear), lit)
            if shown is not None:
                facts = {"head": head.key, "terminal": study.protection.feed_end(rear)}
                yield _found("off-with-head", rear, shown, facts, head, path=behaviour.loop(shown, head))
                break


def _head_dark_between_beams(study: Study, lamps: _Lamps) -> Iterator[Finding]:
    """The control that changes dipped for main beam may leave neither dark in a separate position."""
    behaviour = study.behaviour
    dips, mains = lamps.of("dip-beam"), lamps.of("main-beam")
    if not dips or not mains:
        return
    space, live = _space(behaviour, [*dips, *mains])
    dip = main = space.none
    for branch in dips:
        dip |= live(branch)
    for branch in mains:
        main |= live(branch)
    either = dip | main
    for name in space.controls:
        changes = (dip - main).whatever((name,)) & (main - dip).whatever((name,))
        # At rest such a control may put the lights out: it is then the light switch too.
        dark = (changes & space.plausible & space.possible) - space.at_rest((name,))
        shown = _shown(dark - either, dark)
        if shown is not None:
            facts = {"main": mains[0].key, "control": name, "position": shown.positions[name]}
            yield _found("between-beams", dips[0], shown, facts, *mains[:1])


def _main_beam_tell_tale(study: Study, lamps: _Lamps) -> Iterator[Finding]:
    behaviour = study.behaviour
    mains = lamps.of("main-beam")
    for tell in lamps.of("main-beam", tell_tale=True) if mains else ():
        space, live = _space(behaviour, [tell, *mains])
        main = space.none
        for branch in mains:
            main |= live(branch)
        shows = live(tell)
        for among, other, case in ((main, shows, "tell-tale-off"), (shows, main, "tell-tale-on")):
            shown = _shown((among - other) & space.plausible, among)
            if shown is not None:
                terminal, beam = (study.protection.feed_end(lamp) for lamp in (tell, mains[0]))
                yield _found(case, tell, shown, {"terminal": terminal, "beam": beam}, *mains, fix="tell-tale")
                break


def _neutral_tell_tale(study: Study, lamps: _Lamps) -> Iterator[Finding]:
    """A tell-tale that is on out of gear alone shows neutral: no clutch or stand switch may put it on in gear."""
    behaviour = study.behaviour
    geared = in_gear(behaviour.network)
    if geared is None:
        return
    for tell in lamps.of("tell-tale", tell_tale=True):
        with study.judging(tell.part):
            space = behaviour.space(behaviour.live(tell.key), geared)
            others = [name for name in INTERLOCKS if name in space]
            live = space.where(behaviour.live(tell.key)) & space.possible
            usual = live & space.at_rest(others)
            wrong = live & space.where(geared) & space.plausible
            if not others or not usual or usual & space.where(geared):
                continue  # it shows something else
            shown = wrong.shown()
            if shown is None:
                continue
            path = behaviour.loop(shown, tell)
            switches = tuple(s for name in others for s in study.circuit.controls[name].switches)
            by = tuple(s for s in switches if any(isinstance(key, BranchId) and key.owner == s for key in path))
            yield _neutral_on(study, tell, shown, by or switches, path)


def _neutral_on(
    study: Study, tell: Branch, shown: Combination, switches: tuple[str, ...], path: tuple[str, ...]
) -> Finding:
    """The finding, with the diode by which those switches carry the lamp's current no more, where one does that."""
    circuit = study.circuit
    keys = [key for key in path if key in circuit.by_key]  # as the current flows, from the source to its other pole
    first, second = (circuit.by_key[key] for key in keys[:2])
    start = first.a if first.b in (second.a, second.b) else first.b
    way = list(walked(circuit, keys, start))
    at = keys.index(tell.key)
    by = {place for place, (branch, _) in enumerate(way) if branch.owner in switches}
    onward = any(place > at for place in by)
    between = way[at + 1 : max(by, default=at)] if onward else way[min(by, default=at) + 1 : at]
    blocked = blocking_diode(
        study, between, lambda trial: _is_off(study, trial, tell, shown), fed=frozenset({tell.key})
    )
    if blocked is None:
        towards = ("the neutral switch",) if onward else switches
        facts: dict[str, Fact] = {"switches": switches, "towards": towards}
        return _found("neutral-on", tell, shown, facts, path=path)
    facts = {"switches": switches, "diode": blocked.says}
    proposals = blocked.proposals(study)
    fix = "by-neutral-alone" if proposals else "diode"
    return _found("neutral-on", tell, shown, facts, path=path, fix=fix, proposals=proposals)


def _is_off(study: Study, trial: Operation, lamp: Branch, shown: Combination) -> bool:
    """Whether a lamp gets nothing to speak of in a combination, with other numbers."""
    point = solved(trial, study.behaviour.logic, shown)
    status = load_status(point, lamp.key) if point is not None else None
    return status is not None and status.word == "dead"


def _turn_lamps(study: Study, lamps: _Lamps) -> Iterator[Finding]:
    behaviour = study.behaviour
    sides = {side: lamps.of(f"turn-{side}") for side in ("left", "right")}
    every = [*sides["left"], *sides["right"]]
    if not every:
        return
    space, live = _space(behaviour, every)
    for side, other in (("left", "right"), ("right", "left")):
        together, some = space.every, space.none
        for branch in sides[side]:
            together &= live(branch)
            some |= live(branch)
        for branch in sides[side]:
            alone = (some - live(branch)) & space.plausible
            shown = _shown(alone, some)
            if shown is not None:
                yield _found("off-with-side", branch, shown, {"side": side})
        all_other = space.every if sides[other] else space.none
        for branch in sides[other]:
            all_other &= live(branch)
        # With all four at once the hazard lights are meant, where this side can flash alone, too.
        never_alone = not together - all_other
        alike = space.none
        for name in space.controls:
            alike |= ((all_other - some) & space.possible).whatever((name,))
        for branch in sides[other]:
            mixed = together & live(branch) & space.plausible if sides[side] else space.none
            if not never_alone:
                mixed -= all_other
            # A turn switch shows it better than the hazard switch: by it the other side flashes alone.
            shown = (mixed & alike or mixed).shown()
            if shown is not None:
                case, facts = "never-alone" if never_alone else "other-side", {"side": side, "own": other}
                yield _found(case, branch, shown, facts, path=behaviour.loop(shown, branch), fix="two-leads")


def _stop_lamp_steady(study: Study, lamps: _Lamps) -> Iterator[Finding]:
    flashing = [
        b.key
        for b in study.circuit.branches
        if b.branch_type is BranchType.FLASHER or (isinstance(b.item, UnitOutput) and b.item.flashing)
    ]
    if not flashing:
        return
    behaviour = study.behaviour
    for lamp in lamps.of("stop-lamp"):
        shown = behaviour.may(behaviour.live(lamp.key))
        if shown is None:
            continue
        path = behaviour.loop(shown, lamp)
        if through := [key for key in path if key in flashing]:
            facts = {"flasher": through[0], "terminal": study.protection.feed_end(lamp)}
            yield _found("stop-flashes", lamp, shown, facts, path=path)


RULE = Rule(
    name="lamp-law",
    level=Level.WARNING,
    family="behaviour",
    catches="tail, plate, headlamp, tell-tale, turn and stop lamps that are not on or off together; a "
    "neutral tell-tale that is on in gear",
    why="""Lighting laws ask nearly everywhere that the tail and plate lamps are on with the headlamp, that the
    headlamp stays on between dipped and main beam, that the blue tell-tale is on with the main beam alone, that the
    turn lamps of one side flash together while the other side is off, and that a stop lamp does not flash. Local law
    decides; this is what most of them share.""",
    source="UN R53, 5.10 to 6.4, and 49 CFR 571.108 (from memory); local law decides",
    cautions="Try every lamp from behind and from ahead before you ride: others see only what is on.",
    says={
        "off-with-head": "{lamp} is off while {head} is on",
        "between-beams": "{lamp} and {main} are both off while {control} changes between dipped and main beam",
        "tell-tale-off": "{lamp} is off while the main beam is on",
        "tell-tale-on": "{lamp} is on while the main beam is off",
        "off-with-side": "{lamp} stays off while another {side} turn lamp flashes",
        "other-side": "{lamp}, a {own} turn lamp, flashes with the {side} turn lamps",
        "never-alone": "{lamp}, a {own} turn lamp, flashes with the {side} turn lamps[ ({when})]; these never "
        "flash alone",
        "neutral-on": "{lamp} is on in gear[ ({when})]: it is connected to {switches}",
        "stop-flashes": "stop lamp {lamp} flashes[ ({when})]: it is fed through {flasher}",
    },
    fixes={
        "off-with-head": "connect {terminal} to a feed that is live whenever {head} is on",
        "between-beams": "fit a dip switch that makes one contact before it breaks the other: {control} feeds neither "
        "beam at {position}",
        "tell-tale": "connect {terminal} to {beam}, the main-beam lead",
        "off-with-side": "feed the {side} turn lamps from one lead",
        "two-leads": "feed the left and the right turn lamps by separate leads from the turn switch: disconnect {lamp} "
        "from the lead of the {side} ones",
        "neutral-on": "fit a diode in the lead between {switches} and the neutral switch, its band (cathode) towards "
        "{towards}, so that only the neutral switch puts {lamp} on",
        "diode": "{diode}, so that only the neutral switch puts {lamp} on",
        "by-neutral-alone": "only the neutral switch puts {lamp} on then",
        "stop-flashes": "connect {terminal} to the brake switches by a lead that bypasses {flasher}",
    },
    find=find,
)
