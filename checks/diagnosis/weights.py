"""How likely a hypothesis is beside the others: how often such a thing fails, and how much of it went unnoticed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from ...lang.circuit.ids import owner_of
from ...lang.model.parts import Ground
from ..fmea.effects import HEATED
from ..fmea.failure_modes import PHASES, SHORT, STATOR
from ..tables.odds import odds, of_kind
from .hypotheses import Hypothesis
from .observations import Observation, Seen
from .predictions import Predictions, name_of

if TYPE_CHECKING:
    from ...lang.circuit.circuit import Circuit


UNSAID = 0.5
"""How much less likely a fault becomes for each part that it would change as well and nobody spoke of (ours): half of
what changes goes unnoticed by somebody who looks at one thing.
"""

BAD_JOINT = 0.5
"""How often a joint goes bad without opening, against opening (ours): as a second thought, not as the first."""


def weights(chosen: Sequence[Hypothesis], seen: tuple[Observation, ...]) -> list[float]:
    """What speaks for each, as shares of 1: how often it fails, how well it fits, how much it leaves unsaid."""
    raw = [_odds(h) * h.likeness * UNSAID ** len([*_unsaid(h, seen), *unseen(h)]) for h in chosen]
    total = sum(raw)
    return [weight / total for weight in raw]


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
    often = odds(home.point.circuit.by_key[hypothesis.fault.key], _grounds(home.point.circuit))
    return often * (BAD_JOINT if hypothesis.mode == "high resistance" else 1.0)


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
    """The parts of which nobody spoke and that would differ, or look so beside a sound bike; and how."""
    unsaid = _unsaid(hypothesis, seen)
    looks = hypothesis.looks or hypothesis.words
    said = _spoken_of(hypothesis.home, seen)
    sound = hypothesis.home.statuses.sound
    for part in hypothesis.home.statuses.parts:
        if part in unsaid:
            yield part, hypothesis.words[part]
        elif looks[part] != sound[part] and looks[part] != "live" and part not in said:
            yield part, looks[part]


def unseen(hypothesis: Hypothesis) -> Iterator[str]:
    """What it does besides that is no standing: to the charge of a battery."""
    home = hypothesis.home
    if hypothesis.mode != "high resistance":
        for effect in home.outcomes[name_of(hypothesis.fault)].effects:
            if effect.thing not in home.statuses.sound and not (effect.now in HEATED and home.burns(hypothesis.fault)):
                yield effect.words()
