"""Lamps that do not go together as laws ask."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from ....lang.circuit.branch import Branch
from ....lang.circuit.branch_types import BranchType
from ....lang.model.parts import Element, UnitOutput
from ....lang.records import dataclass
from ...behaviour import JoinedInSeries
from ...behaviour.properties import shown_for_sure
from ...findings.finding import Finding, Level
from ...logic import Combination, SwitchingLogic
from ...logic.counterexample import found
from ...logic.state_space import StateSpace
from ...rule import Rule
from ...study import Study


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


def _scope(logic: SwitchingLogic, branches: list[Branch]) -> tuple[StateSpace, Callable[[Branch], int]]:
    """A scope for some lamps, and where each is live in it for some position of what nobody sets."""
    questions = [JoinedInSeries(branch.key) for branch in branches]
    scope = logic.scope(*questions)
    return scope, lambda branch: JoinedInSeries(branch.key).table(scope) & scope.counted


def _shown(logic: SwitchingLogic, scope: StateSpace, wrong: int, among: int) -> Combination | None:
    """Where something is wrong, nearest to rest; of what holds ``among`` all these lamps, only what tells it apart."""
    return shown_for_sure(logic, scope, wrong, anywhere=wrong | (scope.full ^ among))


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
    logic = study.logic
    for head in lamps.of("dip-beam", "main-beam"):
        for rear in lamps.of("tail-lamp", "plate-lamp"):
            scope, live = _scope(logic, [head, rear])
            lit = live(head) & scope.plausible
            shown = _shown(logic, scope, lit & (lit ^ live(rear)), lit)
            if shown is not None:
                remedy = f"connect {rear.a} to a feed that is live whenever {head.key} is on"
                path = logic.loop(shown, head)
                yield _told(rear, f"{rear.key} is dark while {head.key} burns", shown, path, remedy, head)
                break


def _head_dark_between_beams(study: Study, lamps: _Lamps) -> Iterator[Finding]:
    """The control that changes dipped for main beam may leave neither dark in a position of its own."""
    logic = study.logic
    dips, mains = lamps.of("dip-beam"), lamps.of("main-beam")
    if not dips or not mains:
        return
    scope, live = _scope(logic, [*dips, *mains])
    dip = main = 0
    for branch in dips:
        dip |= live(branch)
    for branch in mains:
        main |= live(branch)
    either = dip | main
    for name in scope.visible:
        only_dip, only_main = dip & (dip ^ main), main & (main ^ dip)
        changes = scope.some(only_dip, (name,)) & scope.some(only_main, (name,))
        # At rest such a control may put the lights out: it is then the light switch too.
        dark = scope.without(changes & scope.plausible & scope.counted, scope.rest((name,)))
        shown = _shown(logic, scope, dark & (dark ^ either), dark)
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
    logic = study.logic
    mains = lamps.of("main-beam")
    for tell in lamps.of("main-beam", tell_tale=True) if mains else ():
        scope, live = _scope(logic, [tell, *mains])
        main = 0
        for branch in mains:
            main |= live(branch)
        shows = live(tell)
        for among, other, message in (
            (main, shows, f"{tell.key} is dark while the main beam burns"),
            (shows, main, f"{tell.key} burns without the main beam"),
        ):
            shown = _shown(logic, scope, among & (among ^ other) & scope.plausible, among)
            if shown is not None:
                remedy = f"connect {tell.a} to {mains[0].a}, the main-beam lead itself"
                yield _told(tell, message, shown, (), remedy, *mains)
                break


def _turn_lamps(study: Study, lamps: _Lamps) -> Iterator[Finding]:
    logic = study.logic
    sides = {side: lamps.of(f"turn-{side}") for side in ("left", "right")}
    every = [*sides["left"], *sides["right"]]
    if not every:
        return
    scope, live = _scope(logic, every)
    for side, other in (("left", "right"), ("right", "left")):
        together = scope.full
        some = 0
        for branch in sides[side]:
            together &= live(branch)
            some |= live(branch)
        for branch in sides[side]:
            alone = some & (some ^ live(branch)) & scope.plausible
            shown = _shown(logic, scope, alone, some)
            if shown is not None:
                message = f"{branch.key} stays dark while another turn lamp of the {side} side flashes"
                yield _told(branch, message, shown, (), "feed both lamps of a side from one lead")
        all_other = scope.full if sides[other] else 0
        for branch in sides[other]:
            all_other &= live(branch)
        # With all four at once the hazard lights are meant, where this side can flash alone, too.
        never_alone = not together & (together ^ all_other)
        alike = 0
        for name in scope.visible:
            alike |= scope.some(all_other & (all_other ^ some) & scope.counted, (name,))
        for branch in sides[other]:
            mixed = together & live(branch) & scope.plausible if sides[side] else 0
            mixed &= mixed ^ (0 if never_alone else all_other)
            # A turn switch shows it better than the hazard switch: by it the other side flashes alone.
            shown = shown_for_sure(logic, scope, mixed & alike or mixed)
            if shown is not None:
                message = f"{branch.key} flashes with the {side} side" + (", which never flashes alone" * never_alone)
                yield _told(branch, message, shown, logic.loop(shown, branch), "part the feeds of the two sides")


def _stop_lamp_steady(study: Study, lamps: _Lamps) -> Iterator[Finding]:
    flashing = [
        b.key
        for b in study.circuit.branches
        if b.branch_type is BranchType.FLASHER or (isinstance(b.item, UnitOutput) and b.item.flashing)
    ]
    if not flashing:
        return
    logic = study.logic
    for lamp in lamps.of("stop-lamp"):
        live = JoinedInSeries(lamp.key)
        scope = logic.scope(live)
        shown = shown_for_sure(logic, scope, live.table(scope) & scope.counted)
        if shown is None:
            continue
        path = logic.loop(shown, lamp)
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
