"""How likely a hypothesis is beside the others: how often such a thing fails, and how much of it went unnoticed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.ids import owner_of
from ...lang.model.parts import Ground, Source
from ..fmea.effects import HEATED
from ..fmea.failure_modes import PHASES, SHORT, STATOR
from ..fmea.halting import ENGINE
from ..tables.odds import odds, of_kind
from .hypotheses import Hypothesis
from .observations import Observation, Seen
from .predictions import Predictions, name_of
from .statuses import LIGHTS

if TYPE_CHECKING:
    from ...lang.circuit.branch import Branch
    from ...lang.circuit.circuit import Circuit


UNSAID = 0.5
"""How much less likely a fault becomes for each part that it would change as well and nobody spoke of (ours): half of
what changes goes unnoticed by somebody who looks at one thing.
"""

DIMMER = 0.7
"""The same for each that would only look dimmer beside a sound bike (ours): that is more easily missed."""

STOPS = 0.05
"""And where the engine would stop, which runs in this state (ours): nobody overlooks that."""

BAD_JOINT = 0.5
"""How often a joint goes bad without opening, against opening (ours): as a second thought, not as the first."""


def weights(chosen: Sequence[Hypothesis], seen: tuple[Observation, ...]) -> list[float]:
    """What speaks for each, as shares of 1: how often it fails, how well it fits, how much it leaves unsaid."""
    raw = [_odds(h) * h.likeness * _silence(h, seen) for h in chosen]
    total = sum(raw)
    return [weight / total for weight in raw]


def _silence(hypothesis: Hypothesis, seen: tuple[Observation, ...]) -> float:
    """How likely it is that somebody with this fault speaks of no more than this."""
    share = UNSAID ** len([*_unsaid(hypothesis, seen), *unseen(hypothesis)])
    share *= DIMMER ** len(list(_dimmer(hypothesis, seen)))
    return share * (STOPS if stops_engine(hypothesis, seen) else 1.0)


def stops_engine(hypothesis: Hypothesis, seen: tuple[Observation, ...]) -> bool:
    """Whether the engine, which runs by itself in this state, stops with it, and nobody said that an ignition part does
    not work.
    """
    if not _has_stopped(hypothesis):
        return False
    running = hypothesis.home.here.running
    return not any(isinstance(each, Seen) and owner_of(each.thing) in running and each.word != "live" for each in seen)


def _has_stopped(hypothesis: Hypothesis) -> bool:
    """Whether the engine runs by itself in this state, and gets no spark any more."""
    halting = hypothesis.home.here.halting
    return halting.runs and all(hypothesis.words[part] != "live" for part in halting.sparks)


def _odds(hypothesis: Hypothesis) -> float:
    """How often a fault comes, against others."""
    home = hypothesis.home
    if hypothesis.mode == SHORT:
        opened = home.opened(hypothesis.fault)
        return (
            of_kind("shorts that blow a device") / home.alike[opened] if opened else of_kind("short that blows nothing")
        )
    if hypothesis.mode in STATOR:
        return of_kind("diode" if hypothesis.mode != PHASES else "short that blows nothing")
    circuit = home.point.circuit
    branch = circuit.by_key[hypothesis.fault.key]
    often = of_kind("bolted machine") if _is_bolted(circuit, branch) else odds(branch, _grounds(circuit))
    return often * (BAD_JOINT if hypothesis.mode == "high resistance" else 1.0)


def _is_bolted(circuit: Circuit, branch: Branch) -> bool:
    """Whether it is the mount of an alternator, dynamo or motor: more metal on metal than any lamp or switch has."""
    part = circuit.harness.parts.get(branch.part)
    motor = any(b.branch_type is BranchType.MOTOR for b in circuit.of_part.get(branch.part, ()))
    return branch.branch_type is BranchType.MOUNT and branch.reliable and (isinstance(part, Source) or motor)


def _grounds(circuit: Circuit) -> frozenset[str]:
    """The terminals that nothing can part from ground: what joins two of them is a ground joint."""
    of = circuit.nets.of
    bodies = [n for n in circuit.at if isinstance(circuit.harness.parts.get(n), Ground)]
    nets = {of[node] for node in (*bodies, circuit.ground) if node in of}
    return frozenset(node for net in nets for node in circuit.nets.nodes[net])


def _unsaid(hypothesis: Hypothesis, seen: tuple[Observation, ...]) -> list[str]:
    """The parts that would differ and of which nobody spoke."""
    statuses, said = hypothesis.home.statuses, _spoken_of(hypothesis.home, seen)
    words = hypothesis.words
    return [part for part in statuses.parts if words[part] != statuses.sound[part] and part not in said]


def _spoken_of(home: Predictions, seen: tuple[Observation, ...]) -> set[str]:
    said = {owner_of(each.thing) for each in seen if isinstance(each, Seen)}
    return said | {
        branch.part
        for each in seen
        if isinstance(each, Seen)
        for branch in home.statuses.elements.branches
        if branch.key == each.thing
    }


def besides(hypothesis: Hypothesis, seen: tuple[Observation, ...]) -> Iterator[tuple[str, str]]:
    """The parts of which nobody spoke, or elements of them, that would differ, or look dimmer beside a sound bike; and
    how.
    """
    found = {part: hypothesis.words[part] for part in _unsaid(hypothesis, seen)} | dict(_dimmer(hypothesis, seen))
    for part in hypothesis.home.statuses.parts:
        if part in found:
            yield from ((thing, found[part]) for thing in _changed(hypothesis, part, found[part]))


def _changed(hypothesis: Hypothesis, part: str, now: str) -> tuple[str, ...]:
    """What of a part is so only with the fault: some of its elements, or the part where that is all or none of them."""
    statuses = hypothesis.home.statuses
    keys = [b.key for b in statuses.elements.branches if b.part == part]
    changed = [k for k in keys if now in (hypothesis.words[k], hypothesis.looks[k]) and statuses.sound[k] != now]
    return tuple(changed) if 0 < len(changed) < len(keys) else (part,)


def _dimmer(hypothesis: Hypothesis, seen: tuple[Observation, ...]) -> Iterator[tuple[str, str]]:
    """The lamps of which nobody spoke, that stand as they do without the fault and look dimmer; and how they look. None
    where the engine has stopped: every lamp is dimmer then.
    """
    if _has_stopped(hypothesis):
        return
    statuses, said = hypothesis.home.statuses, _spoken_of(hypothesis.home, seen)
    lamps = dict.fromkeys(b.part for b in statuses.elements.branches if b.branch_type in LIGHTS)
    for part in lamps:
        stands, look = hypothesis.words[part], hypothesis.looks[part]
        if part not in said and stands == statuses.sound[part] and look not in (stands, "live"):
            yield part, look


def unseen(hypothesis: Hypothesis) -> Iterator[str]:
    """What it does besides that is no standing, to the charge of a battery; ``stops_engine`` is besides."""
    home = hypothesis.home
    if hypothesis.mode != "high resistance":
        name = name_of(hypothesis.fault)
        known = home.earlier[name] if hypothesis.earlier else home.still.get(name, home.outcomes[name])
        for effect in known.effects:
            if effect.thing not in (*home.statuses.sound, ENGINE) and not (
                effect.now in HEATED and home.burns(hypothesis.fault)
            ):
                yield effect.words()
