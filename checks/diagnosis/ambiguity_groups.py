"""Suspects that no observation tells apart: alike in series, or wires shorted to ground that open the same."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

from ...lang.circuit.ids import owner_of
from ...lang.quantities.ranking import ranked
from ..behaviour.histories import said as how_left
from ..fmea.failure_modes import PHASES, SHORT, STATOR, Fault, series_groups
from .diagnosis import AmbiguityGroup, Suspect
from .explanation import Explanation
from .hypotheses import Hypothesis
from .likelihood import AGREES
from .observations import Observation
from .predictions import Predictions
from .weights import besides, stops_engine, unseen

ALIKE = 0.01
"""Relative: groups whose likeliest suspects differ by less go by how likely any of a group is (ours). A microvolt of a
reading that both explain tells nobody which to look at first.
"""


class _Order:
    """What belongs together in one way that the state may be, and what comes first on the way from the feed."""

    def __init__(self, home: Predictions) -> None:
        self.home = home
        self.explanation = Explanation(home)

    def together(self, fault: Fault) -> object:
        """What is the same for suspects that are merged."""
        if fault.mode in STATOR:
            return owner_of(fault.key) if fault.mode != PHASES else fault.mode
        if fault.mode != SHORT:
            return self._series.get(fault.key, fault.key)
        return self.home.opened(fault) or (self.home.burns(fault), self.home.short_like(fault))

    def height(self, key: str) -> tuple[float, int]:
        """The place of a branch in a series: V in its middle without any fault, from the ground up, to the microvolt;
        where no current flows, how many branches lie between it and the feed.
        """
        branch = self.home.point.circuit.by_key[key]
        middle = (self.home.point.volts(branch.a) + self.home.point.volts(branch.b)) / 2
        return round(
            -middle if self.home.point.circuit.return_sign == "+" else middle, 6
        ), -self.explanation.reasons.from_feed(branch)

    @cached_property
    def _series(self) -> dict[str, str]:
        """For each branch that can open, the first of those in series with it in this state: nothing else that conducts
        meets them on the way. What is an open contact elsewhere is none here.
        """
        return series_groups(self.home.point.circuit, self.home.point.connectivity.conducts)


def _before(home: Predictions) -> str:
    """What a fault must have been there before, to show what it does not if it comes now."""
    return "the engine was started" if home.point.engine != "off" else "relays pulled in"


def ambiguity_groups(
    rest: Predictions, chosen: Sequence[Hypothesis], weights: Sequence[float], seen: tuple[Observation, ...]
) -> tuple[AmbiguityGroup, ...]:
    """Suspects in series that show the same, together, and so wires that open the same devices when they lie on
    ground, or that are joined; the chain with the likeliest of all first. ``rest``: the state as reached from rest.

    Not the chain with most in it: what is looked at first is one thing.
    """
    orders = {id(home): _Order(home) for home in {id(h.home): h.home for h in chosen}.values()}
    groups: dict[tuple[object, ...], list[tuple[Hypothesis, Suspect]]] = {}
    for hypothesis, weight in zip(chosen, weights, strict=True):
        look = (
            hypothesis.home.point.memory,
            orders[id(hypothesis.home)].together(hypothesis.fault),
            hypothesis.mode,
            hypothesis.earlier,
            hypothesis.explains,
            tuple(hypothesis.words.items()),
        )
        suspect = Suspect(hypothesis.fault, hypothesis.mode, weight)
        groups.setdefault(look, []).append((hypothesis, suspect))
    place: dict[str, int] = {branch.key: i for i, branch in enumerate(rest.point.circuit.branches)}
    found = []
    for group in groups.values():
        order = orders[id(group[0][0].home)]
        home = order.home
        group.sort(key=lambda pair: order.height(pair[1].fault.key), reverse=True)
        first = group[0][0]
        opens = home.opened(first.fault) if first.mode == SHORT else ()
        keys = opens if first.mode in (SHORT, *STATOR) else tuple(suspect.fault.key for _, suspect in group)
        wires = [rest.point.circuit.by_key[s.fault.key] for _, s in group] if first.mode == SHORT else []
        explained = [each for each, fits in zip(seen, first.explains, strict=True) if fits]
        reasons = tuple(
            order.explanation.reason(each, fit >= AGREES, first, keys, wires, explained)
            for each, fit in zip(seen, first.fits, strict=True)
        )
        also = [f"{part} {look}" for part, look in besides(first, seen)]
        if stops_engine(first, seen):
            also.insert(0, "the engine stops")
        found.append(
            AmbiguityGroup(
                tuple(s for _, s in group),
                reasons,
                (*also, *unseen(first)),
                opens,
                home.burns(first.fault),
                "" if home is rest else how_left(rest.point.memory, home.point.memory),
                _before(home) if first.earlier else "",
            )
        )
    found.sort(key=lambda group: place[group.suspects[0].fault.key])
    return tuple(ranked(ranked(found, key=lambda group: group.weight), lambda group: group.likeliest, ALIKE))
