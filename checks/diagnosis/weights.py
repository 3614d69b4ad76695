"""How likely a hypothesis is beside the others: how often such a thing fails, and how much of it went unnoticed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from ...lang.circuit.branch_types import BranchType
from ...lang.circuit.ids import owner_of
from ...lang.model.parts import Ground, Source
from ...lang.records import dataclass
from ..fmea.effects import HEATED
from ..fmea.failure_modes import PHASES, SHORT, STATOR
from ..fmea.halting import ENGINE
from ..tables.odds import odds, of_kind
from .hypotheses import Hypothesis
from .observations import Observation, Seen
from .predictions import name_of
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
    parts = dict(_unsaid(hypothesis, seen))
    changed = [part for part, others in parts.items() if any(not other.dimmer for other in others)]
    share = UNSAID ** len([*changed, *unseen(hypothesis)])
    share *= DIMMER ** (len(parts) - len(changed))
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


@dataclass(frozen=True, slots=True)
class _Other:
    """A thing of which nobody spoke, and how it is with a fault; ``dimmer``: it stands as it does without, and looks so
    beside a sound bike.
    """

    thing: str
    now: str
    dimmer: bool


def besides(hypothesis: Hypothesis, seen: tuple[Observation, ...]) -> Iterator[tuple[str, str]]:
    """The parts of which nobody spoke, or elements of them or of any part, that would differ, or look dimmer beside a
    sound bike; and how.
    """
    for _, others in _unsaid(hypothesis, seen):
        yield from ((other.thing, other.now) for other in others)


def _unsaid(hypothesis: Hypothesis, seen: tuple[Observation, ...]) -> Iterator[tuple[str, tuple[_Other, ...]]]:
    """Every part of which more changes than was spoken of, with that: the part where all of it changes alike, else its
    elements one by one. Who speaks of a part as a whole has said of its elements what he says of it.
    """
    said = {each.thing: each.word for each in seen if isinstance(each, Seen)}
    named = {owner_of(thing) for thing in said}
    statuses, words = hypothesis.home.statuses, hypothesis.words
    elements: dict[str, list[Branch]] = {part: [] for part in statuses.parts}
    for branch in statuses.elements.branches:
        elements[branch.part].append(branch)
        if branch.key in said:
            named.add(branch.part)
    stopped = _has_stopped(hypothesis)
    for part, branches in elements.items():
        changed = tuple(
            other
            for branch in branches
            if (other := _other(hypothesis, branch, stopped=stopped)) is not None
            and branch.key not in said
            and said.get(part) != other.now
        )
        if part in named:
            others = changed
        elif len({other.now for other in changed}) == 1 and len(changed) == len(branches):
            others = (_Other(part, changed[0].now, all(other.dimmer for other in changed)),)
        elif not changed and words[part] != statuses.sound[part]:
            others = (_Other(part, words[part], False),)  # by its kill wire
        else:
            others = changed
        if others:
            yield part, others


def _other(hypothesis: Hypothesis, branch: Branch, *, stopped: bool) -> _Other | None:
    """How an element differs with a fault, or looks dimmer. No lamp is called dimmer where the engine has ``stopped``:
    every lamp is then.
    """
    now, look = hypothesis.words[branch.key], hypothesis.looks[branch.key]
    if now != hypothesis.home.statuses.sound[branch.key]:
        return _Other(branch.key, now, False)
    if stopped or branch.branch_type not in LIGHTS or look in (now, "live"):
        return None
    return _Other(branch.key, look, True)


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
