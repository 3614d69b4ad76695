"""Sizing forward: what is too thin, which fuse is too large or too small, and which reason decides each.

Currents are those of the named states and of the worst combinations, with every conductor thick whose size can be
chosen, asked for or not, so that they do not depend on what is there now. Fuses come first: one that carries what flows
stays, unless a smaller one that carries it too spares the wires behind it; then each wire by current, by the fuse that
must protect it and by what holds mechanically; then wires are made thicker until no load loses more than it may and
every dead short is cleared. What is enough stays as it is: copper that is there is margin, and is made thinner only
where that is asked for (``thinner``).
What comes out is checked like any harness: where a rule would find something that it does not find now, what that is
about stays as it is. Wires and fuses that are kept from an old harness are facts, and what is waived is not asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from ...lang.model.harness import Harness
from ...lang.model.parts import Fuse
from ...lang.quantities.quantity import shown
from ...lang.quantities.size import Size
from ..tables.fuses import continuous_amps, ratings
from .dead_shorts import thicken_for_shorts
from .demands import MOST_ROUNDS, Demands
from .fuses import FuseRatings
from .no_graver import Known, NoGraver, hold
from .proposal import nothing, proposed
from .sized import SizedWire, Sizing
from .trial import DEFAULT_FORM, Trial, resized
from .voltage_drop import thicken_for_volts
from .wire_needs import WireNeeds

if TYPE_CHECKING:
    from datetime import date

    from ...lang.model.harness import Reading
    from ..tables.profiles import Profile


class UnknownNameError(KeyError):
    """A name that is neither a wire's nor a fuse's; ``known`` are those."""

    def __init__(self, name: str, known: tuple[str, ...]) -> None:
        super().__init__(name)
        self.name, self.known = name, known


def sizing(
    reading: Reading,
    *,
    today: date,
    profile: Profile,
    names: Iterable[str] = (),
    foreign: Iterable[str] = (),
    thinner: bool = False,
) -> Sizing:
    """What a harness without mistakes needs. ``names``: only these wires and fuses; all others are facts then.

    ``foreign`` are wires and fuses whose text is not the user's to change. ``thinner``: propose the smallest size and
    rating that is enough, too, in place of one that is there and larger. Raises ``UnknownNameError``.
    """
    harness = reading.harness
    known = (*harness.wires, *(name for name, part in harness.parts.items() if isinstance(part, Fuse)))
    asked = tuple(names)
    for name in asked:
        if name not in known:
            raise UnknownNameError(name, known)
    facts = _facts(harness, asked or known, foreign)
    trial = partial(
        Trial, today=today, profile=profile, thinner=thinner, given=frozenset(_facts(harness, known, foreign))
    )
    checked: Known = {}
    final, restless = _at_rest(harness, facts, trial, checked)
    while restless:  # a wire or a fuse more stays as it is each time
        facts |= dict.fromkeys(restless, "as it is: no other size of it leads to an end")
        final, restless = _at_rest(harness, facts, trial, checked)
    if not asked:
        return final
    return replace(
        final,
        wires=tuple(wire for wire in final.wires if wire.name in asked),
        fuses=tuple(fuse for fuse in final.fuses if fuse.name in asked),
    )


def _facts(harness: Harness, asked: Iterable[str], foreign: Iterable[str]) -> dict[str, str]:
    """The wires and fuses that stay as they are, and why."""
    asked, foreign = set(asked), set(foreign)
    facts: dict[str, str] = {}
    for name, wire in harness.wires.items():
        if wire.kept:
            facts[name] = "kept from the old harness"
        elif name in foreign:
            facts[name] = "its text comes with the tool"
        elif name not in asked:
            facts[name] = "not asked for"
    for name, part in harness.parts.items():
        if not isinstance(part, Fuse):
            continue
        if part.kept:
            facts[name] = "kept from the old harness"
        elif name in foreign:
            facts[name] = "its text comes with the tool"
        elif part.amps is None and part.blows is not None:
            facts[name] = f"marked by what blows it, {shown(part.blows)} A"
        elif part.pattern is not None:
            facts[name] = f"its pattern {part.pattern} may say its rating"
        elif not ratings(part.form or DEFAULT_FORM):
            facts[name] = f"no ratings of a {part.form} are known"
        elif name not in asked:
            facts[name] = "not asked for"
    return facts


def _at_rest(
    harness: Harness, facts: Mapping[str, str], trial: Callable[[Harness, Mapping[str, str]], Trial], checked: Known
) -> tuple[Sizing, tuple[str, ...]]:
    """What is proposed, and still is once it is there: else writing it would never come to an end. With it the wires
    and fuses of which that is not so.
    """
    sizes: dict[str, Size] = {}
    rated: dict[str, float] = {}
    told: dict[str, SizedWire] = {}
    for _ in range(MOST_ROUNDS):
        there = resized(harness, sizes, rated)
        found = _sized(trial(there, facts), checked)
        if not found.sizes and not found.ratings:
            return _over(harness, found, sizes, rated, told), ()
        told |= {wire.name: wire for wire in found.wires if wire.changes}
        sizes, rated = {**sizes, **found.sizes}, {**rated, **found.ratings}
    return found, tuple(sorted((*found.sizes, *found.ratings)))


def _sized(trial: Trial, checked: Known) -> Sizing:
    """What is proposed for one harness as it is."""
    demands, fuses, wires, check = Demands(trial), FuseRatings(trial), WireNeeds(trial), NoGraver(trial, checked)
    if trial.protection.shorted:
        return nothing(demands, "a dead short joins the poles of a source: clear it first, then size")
    for _ in range(MOST_ROUNDS):
        rated = fuses.chosen(demands.pinned)
        demands.own = wires.of(demands.free, rated)
        thicken_for_volts(demands, rated)
        thicken_for_shorts(demands, rated)
        sizes = demands.sizes()
        worse = check.worse(demands, sizes, rated)
        if not worse or not hold(demands, worse, sizes, rated):
            break
    if worse:
        return nothing(demands, "no proposal: the sizes worked out would bring new findings")
    return proposed(demands, sizes, rated)


def _over(
    harness: Harness,
    found: Sizing,
    sizes: Mapping[str, Size],
    rated: Mapping[str, float],
    told: Mapping[str, SizedWire],
) -> Sizing:
    """What was found for a harness with these sizes and ratings already in it, seen from the one without. Why a wire
    has its new size is known where that was ``told``: once it is there, nothing asks for it any more.
    """
    wires = []
    for wire in found.wires:
        why, size = told.get(wire.name, wire), harness.wires[wire.name].size
        why = replace(why, amps=wire.amps, held=wire.held, metres=wire.metres)
        wires.append(replace(why, present=size, proposed=sizes.get(wire.name, wire.proposed)))
    fuses = []
    for fuse in found.fuses:
        part = harness.parts[fuse.name]
        present = continuous_amps(part.amps, part.blows) if isinstance(part, Fuse) else None
        fuses.append(replace(fuse, present=present, proposed=rated.get(fuse.name, fuse.proposed)))
    return replace(found, wires=tuple(wires), fuses=tuple(fuses))
