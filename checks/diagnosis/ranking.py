"""From what is seen and measured to what may have failed, the best explanation first, and why.

Every single fault that the sweep knows is a suspect: what opens, each load, and each wire that may be shorted to
ground; those wires that would open the same device and show the same are one chain with it. What does not explain
everything by being open is tried as a bad joint as well: solved with more and more ohms in one branch, relays and
machines as they were and from rest, and the place is chosen that agrees best with what was seen.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cached_property
from typing import TYPE_CHECKING

from ...lang.circuit.ids import End
from ..dc.memory import AT_REST
from ..fmea.failure_modes import SHORT, STATOR, Fault
from ..tables.meter import tolerance
from .ambiguity_groups import ambiguity_groups
from .diagnosis import AmbiguityGroup, Diagnosis
from .hypotheses import Hypothesis, hypotheses, weighed
from .likelihood import predicted_volts, too_little, too_much
from .next_test import Showing, ToGround, next_measurement, to_ground
from .observations import Observation, Places, Read, Seen
from .ohm_tests import ohms
from .probes import Pair, pairs
from .refusal import check
from .ruled_out import NOTHING, RuledOut
from .sensed import sensed_otherwise
from .ways import Ways
from .weights import weights

if TYPE_CHECKING:
    from ..dc.memory import Memory
    from ..fmea.fault_simulation import Sweep
    from ..operation.operation import OperatingPoint


RIVALS = 0.1
"""Where nothing explains everything, what fits so much worse than the best is left out (ours). So is what explains no
more of it than the sound harness: a place that is only less far off than the others is no suspect.
"""


class Diagnoser:
    """Single faults against observations in one named state. Raises ``UnsolvableError`` for a state without numbers."""

    def __init__(self, sweep: Sweep, state: str, point: OperatingPoint | None = None, before: Memory = AT_REST) -> None:
        """``point``: the state as relays and machines are in it, with latches that were set ``before``; as it is
        reached from rest if left out.
        """
        self.ways = self._loaded = Ways(sweep, state, point, before)
        self._asked = sweep, state, point, before
        self.predictions = self.ways.rest
        self.point: OperatingPoint = self.predictions.point

    @cached_property
    def _metered(self) -> Ways:
        """With openings of what carries nothing too: whoever looks notices none of them, and a meter does."""
        return Ways(*self._asked, unloaded=True)

    @property
    def places(self) -> Places:
        """What can be seen, parts with a consumer and their elements, and where can be measured."""
        return self.ways.places

    def inquire(self, seen: Sequence[Observation], ruled_out: RuledOut = NOTHING) -> Diagnosis:
        """What may have failed. Raises ``UnknownThingError``, and ``ObservationError`` for what cannot be.

        ``ruled_out`` is what something else has shown not to be there.
        """
        seen = tuple(dict.fromkeys(seen))
        self.ways = self._metered if any(isinstance(each, Read) for each in seen) else self._loaded
        self.predictions = self.ways.rest
        for each in seen:
            check(self.ways, each)
        sound = self._sound(seen)
        # What is near enough to a sound harness for a meter may be too little for a regulator.
        low = tuple(each for each in seen if too_little(self.predictions, each)) if all(sound.explains) else ()
        if low:
            seen = tuple(replace(each, close=True) if isinstance(each, Read) and each in low else each for each in seen)
            sound = self._sound(seen)
        if all(sound.explains):
            return Diagnosis(
                seen,
                True,
                (),
                False,
                None,
                unsolved=self._unweighed(()),
                unpredicted=self.ways.unpredicted,
                most_charged=self.predictions.most_charged,
                lowered=self._lowered(seen),
                least_charged=self.predictions.least_charged,
                expected=tuple(_expected(sound, seen)),
            )
        sweep, _, _, before = self._asked
        otherwise = tuple(not fit for fit in sound.explains)
        sensed = tuple(sensed_otherwise(sweep, self.point, before, seen, otherwise))
        stops_first = any(each.stop for each in sensed)
        found = list(self._found(seen, ruled_out))
        chosen = [h for h in found if all(h.explains)]
        partial = not chosen
        if partial:
            near = [h for h in found if _explains_more(h, sound)]
            best = max((h.likeness for h in near), default=0.0)
            chosen = [h for h in near if h.likeness > max(sound.likeness, best * RIVALS)]
        shares = weights(chosen, seen)
        showings = [
            Showing(h.fault, h.mode, h.left, w, h.unsteady, h.chatters) for h, w in zip(chosen, shares, strict=True)
        ]
        groups = ambiguity_groups(self.predictions, chosen, shares, seen)
        rest = self.predictions.here.halting.at_rest if chosen and all(h.stops for h in chosen) else None
        # Of suspects that none explains it all, telling one from another tells nothing of what it is.
        measured = (
            None
            if partial or stops_first
            else next_measurement(
                self.point if rest is None else rest.point,
                self._pairs if rest is None else self._pairs_at(rest.point),
                showings,
                [each for each in seen if isinstance(each, Read)],
                stands=rest is not None,
            )
        )
        last = measured is None and not partial and not stops_first
        opens = [s.fault for c in groups for s in c.suspects if s.mode not in (SHORT, *STATOR)]
        return Diagnosis(
            seen,
            False,
            groups,
            partial and bool(chosen),
            measured,
            ohms(self.point, opens) if last and chosen[1:] else (),
            tuple(self._to_ground(groups)) if last else (),
            self._unweighed(chosen),
            self.ways.unpredicted,
            self._sound_in(seen, ("dim",), "dim"),
            self._sound_in(seen, ("dim", "live"), "dead"),
            self.predictions.most_charged,
            tuple(each for each in seen if too_much(self.predictions, each)),
            self._lowered(seen),
            live_where_dead=tuple(self._live_where_dead(sound, seen)) if partial else (),
            sensed=sensed,
            too_little=low,
            least_charged=self.predictions.least_charged,
        )

    def _sound(self, seen: tuple[Observation, ...]) -> Hypothesis:
        """The harness without any fault, in the way that the state may be in which it agrees best."""
        ways = (weighed(d, d.here.sound, d.statuses.sound, seen) for d in self.ways.all)
        return max(ways, key=lambda each: each.agrees)

    def _live_where_dead(self, sound: Hypothesis, seen: Sequence[Observation]) -> Iterator[Read]:
        """The readings of a voltage where the sound harness has none."""
        none = tolerance(0.0, self.predictions.nominal)
        for read, least, most in _expected(sound, seen):
            if max(abs(least), abs(most)) <= none < abs(read.volts):
                yield read

    def _sound_in(self, seen: tuple[Observation, ...], words: tuple[str, ...], sound: str) -> tuple[str, ...]:
        """The things that are stated to be one of ``words`` and are ``sound`` without any fault."""
        standing = self.predictions.statuses.sound
        return tuple(e.thing for e in seen if isinstance(e, Seen) and e.word in words and standing[e.thing] == sound)

    def _unweighed(self, chosen: Sequence[Hypothesis]) -> tuple[str, ...]:
        """The faults that were not solved all the way and are not among the chosen: nothing acquits them."""
        known = {each.fault for each in chosen}
        return tuple(said for said, fault in self.ways.unsolved.items() if fault not in known)

    def _found(self, seen: tuple[Observation, ...], ruled_out: RuledOut) -> Iterator[Hypothesis]:
        """Every fault, in the way that the state may be in which it agrees best with what was seen; the first of
        them where they agree alike.
        """
        best: dict[Fault, Hypothesis] = {}
        for here in self.ways.all:
            for outcome in here.outcomes.values():
                for each in hypotheses(here, outcome, seen, ruled_out):
                    known = best.get(each.fault)
                    if known is None or each.agrees > known.agrees:
                        best[each.fault] = each
        yield from best.values()

    def _to_ground(self, groups: Sequence[AmbiguityGroup]) -> Iterator[ToGround]:
        """How the wires are found of which one may be shorted to ground."""
        for ambiguity_group in groups:
            if ambiguity_group.mode == SHORT:
                by_key = self.point.circuit.by_key
                wires, devices = (
                    [s.fault for s in ambiguity_group.suspects],
                    [by_key[key] for key in ambiguity_group.opens],
                )
                yield from to_ground(self.point, wires, devices, self.ways.alternating)

    @property
    def _open_to(self) -> frozenset[End]:
        """The terminals whose volts a regulator lowers by an unknown amount."""
        return frozenset(end for field in self.predictions.held_back for end in field.nodes)

    def _lowered(self, seen: Sequence[Observation]) -> tuple[Observation, ...]:
        """The readings at these: from nothing to all they are as they should be."""
        return tuple(e for e in seen if isinstance(e, Read) and not self._open_to.isdisjoint((e.red, e.black)))

    @cached_property
    def _pairs(self) -> tuple[Pair, ...]:
        return self._pairs_at(self.point)

    def _pairs_at(self, point: OperatingPoint) -> tuple[Pair, ...]:
        return tuple(pairs(point, self.places, self.ways.alternating | self._open_to))


def _explains_more(hypothesis: Hypothesis, sound: Hypothesis) -> bool:
    """Whether a fault explains something of what was seen that is not so without any fault."""
    return any(fits and not fitted for fits, fitted in zip(hypothesis.explains, sound.explains, strict=True))


def _expected(sound: Hypothesis, seen: Sequence[Observation]) -> Iterator[tuple[Read, float, float]]:
    """The least and the most V that the sound harness shows where something was read."""
    for each in seen:
        if isinstance(each, Read):
            volts = predicted_volts(sound.home, each, sound.cases)
            yield each, float(volts.min()), float(volts.max())
