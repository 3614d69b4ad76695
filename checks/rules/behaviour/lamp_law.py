"""Lamps that do not go together as laws ask."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType
from ....lang.model.parts import Element, UnitOutput
from ....lang.records import dataclass
from ...behaviour.counterexample import found
from ...findings.finding import Finding, Level
from ...rule import Rule
from ...study import Study

if TYPE_CHECKING:
    from ...behaviour import Behaviour, Combination
    from ...behaviour.cases import Cases, Space


@dataclass(frozen=True, slots=True)
class _Lamps:
    """The lamps of a harness by what law asks of them; tell-tales stand apart."""

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


def _space(behaviour: Behaviour, branches: list[Branch]) -> tuple[Space, Callable[[Branch], Cases]]:
    """Every combination that matters to some lamps, and where each is live in it for some position of what nobody
    sets.
    """
    space = behaviour.space(*(behaviour.live(branch.key) for branch in branches))
    return space, lambda branch: space.where(behaviour.live(branch.key)) & space.possible


def _shown(wrong: Cases, among: Cases) -> Combination | None:
    """Where something is wrong, nearest to rest; of what holds ``among`` all these lamps, only what tells it apart."""
    return wrong.shown(alike=wrong | ~among)


def _told(
    lamp: Branch, message: str, shown: Combination, path: tuple[str, ...], remedy: str, *others: Branch
) -> Finding:
    return found(
        RULE.name,
        RULE.level,
        message,
        lamp.span,
        about=(lamp.part, *(other.part for other in others)),
        shown=shown,
        path=path,
        source=RULE.source,
        remedy=remedy,
    )


def _tail_with_head(study: Study, lamps: _Lamps) -> Iterator[Finding]:
    behaviour = study.behaviour
    for head in lamps.of("dip-beam", "main-beam"):
        for rear in lamps.of("tail-lamp", "plate-lamp"):
            space, live = _space(behaviour, [head, rear])
            lit = live(head) & space.plausible
            shown = _shown(lit - live(rear), lit)
            if shown is not None:
                remedy = f"connect {rear.a} to a feed that is live whenever {head.key} is on"
                path = behaviour.loop(shown, head)
                yield _told(rear, f"{rear.key} is dark while {head.key} burns", shown, path, remedy, head)
                break


def _head_dark_between_beams(study: Study, lamps: _Lamps) -> Iterator[Finding]:
    """The control that changes dipped for main beam may leave neither dark in a position of its own."""
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
            yield _told(
                dips[0],
                f"the headlamp is dark between dipped and main beam, at {name} {shown.positions[name]}",
                shown,
                (),
                "a dip switch that makes the one contact before it breaks the other",
                *mains[:1],
            )


def _main_beam_tell_tale(study: Study, lamps: _Lamps) -> Iterator[Finding]:
    behaviour = study.behaviour
    mains = lamps.of("main-beam")
    for tell in lamps.of("main-beam", tell_tale=True) if mains else ():
        space, live = _space(behaviour, [tell, *mains])
        main = space.none
        for branch in mains:
            main |= live(branch)
        shows = live(tell)
        for among, other, message in (
            (main, shows, f"{tell.key} is dark while the main beam burns"),
            (shows, main, f"{tell.key} burns without the main beam"),
        ):
            shown = _shown((among - other) & space.plausible, among)
            if shown is not None:
                remedy = f"connect {tell.a} to {mains[0].a}, the main-beam lead itself"
                yield _told(tell, message, shown, (), remedy, *mains)
                break


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
                message = f"{branch.key} stays dark while another turn lamp of the {side} side flashes"
                yield _told(branch, message, shown, (), "feed both lamps of a side from one lead")
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
                message = f"{branch.key} flashes with the {side} side" + (", which never flashes alone" * never_alone)
                yield _told(branch, message, shown, behaviour.loop(shown, branch), "part the feeds of the two sides")


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
        if set(path) & set(flashing):
            yield _told(lamp, f"{lamp.key} is fed through what flashes", shown, path, "feed it past the flasher")


RULE = Rule(
    name="lamp-law",
    level=Level.WARNING,
    family="behaviour",
    catches="tail, plate, dipped, main, tell-tale, turn and stop lamps that do not go together as laws ask",
    why="""What the lamps of a machine must do together is law nearly everywhere: tail and plate lamp with the
    headlamp, no gap between the beams, a blue tell-tale with the main beam alone, the turn lamps of one
    side in step and the other side dark, a stop lamp that does not flash. Local law decides; this is what
    most of them share.""",
    source="UN R53, 5.10 to 6.4, and 49 CFR 571.108 (from memory); local law decides",
    find=find,
)
