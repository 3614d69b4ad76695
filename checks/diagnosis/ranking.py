"""From what is seen and measured to what may have failed, the best explanation first, and why.

Every single fault that the sweep knows is a suspect: what opens, each load, and each wire that may lie on ground; those
wires that would open the same device and show the same are one chain with it. What does not explain everything by being
open is tried as a bad joint as well: solved with more and more ohms in one branch, relays and machines as they were and
from rest, and the place is chosen that agrees best with what was seen.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import field, replace
from functools import cached_property
from typing import TYPE_CHECKING, Literal

from ...lang.circuit.branch_types import BranchType
from ...lang.model.conditions import BY_ITSELF
from ...lang.model.parts import Connector, Ground, Splice
from ...lang.records import dataclass
from ..behaviour.histories import said as how_left
from ..dc.devices import UnsolvableError
from ..fmea.bad_joints import BAD, Joints
from ..fmea.effects import HEATED, WORDS, Elements
from ..fmea.failure_modes import SHORT, Damage, Fault, series_groups
from ..fmea.shorts import Short, Shorts
from ..tables.odds import odds, of_kind
from .explanation import Reasons
from .next_test import Measurement, Ohms, Pair, Showing, ToGround, alternating, next_measurement, ohms, pairs, to_ground
from .observations import Observation, ObservationError, Places, Read, Seen, UnknownThingError, places
from .tolerance import FLOOR, SHARE, tolerance

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from ...lang.circuit.branch import Branch
    from ..fmea.fault_simulation import Outcome, Sweep, _State
    from ..operation.operation import OperatingPoint, Unfollowed

    Floats = NDArray[np.float64]

__all__ = [
    "AmbiguityGroup",
    "Diagnoser",
    "Diagnosis",
    "ObservationError",
    "Read",
    "Seen",
    "Suspect",
    "UnknownThingError",
]

UNSAID = 0.5
"""How much less likely a fault becomes for each part that it would change as well and nobody spoke of (ours): half of
what changes goes unnoticed by somebody who looks at one thing.
"""

WORD_FITS = (1.0, 0.2, 0.02)
"""How well a standing agrees with one that is the same, the next, or the one after (ours): a dim lamp is easily called
dead in the sun; a dead one is not called live.
"""

LOOKS = ((0.15, 0.9), (0.2, 0.93), (0.25, 0.95))
"""Shares of the volts that an element has when all is sound, between which somebody who looks at it calls it dim: a
strict eye, a usual one and a sharp one (ours). A word that is right for one of them is right.
"""

USUAL = 1
"""The place of the usual eye among ``LOOKS``: what a fault would do besides is told as it sees it."""

AGREES = 0.5
"""How well something must fit to be called explained: a reading just a tolerance away does."""

NOT_SOLVED = "is not solved: neither how it looks nor its volts can be asked about"

SHOWN = 9
"""So many of the cases of a bad joint say what it may show between the least and the most at any terminal."""

RIVALS = 0.1
"""Where nothing explains everything, what fits so much worse than the best is left out (ours)."""

BAD_JOINT = 0.5
"""How often a joint goes bad without opening, against opening (ours): as a second thought, not as the first."""

Mode = Literal["open", "high resistance", "short to ground"]


@dataclass(frozen=True, slots=True)
class Reason:
    """What a suspect says of one observation; ``explains``: they agree."""

    observation: Observation
    explains: bool
    words: str


@dataclass(frozen=True, slots=True)
class Suspect:
    """One fault. ``weight``: its share of what speaks for all suspects together, 0 to 1."""

    fault: Fault
    mode: Mode
    weight: float

    def __str__(self) -> str:
        return f"{self.fault.key} {self.mode}"


@dataclass(frozen=True, slots=True)
class AmbiguityGroup:
    """Suspects in series that do the same, from the feed to the ground; most often one. Or wires of which one lies on
    ground. ``reasons``: one for each observation.

    ``also``: what it would change besides, and nobody spoke of. ``opens``: the devices that open when one of these
    wires lies on ground; ``burns``: none does, and a battery feeds it. ``history``: how relays and machines were left
    for the state to stand so that it explains all this; empty where it does from rest.
    """

    suspects: tuple[Suspect, ...]
    reasons: tuple[Reason, ...]
    also: tuple[str, ...]
    opens: tuple[str, ...] = ()
    burns: bool = False
    history: str = ""

    @property
    def mode(self) -> Mode:
        return self.suspects[0].mode

    @property
    def likeliest(self) -> float:
        """The weight of what is looked at first: of the likeliest of them, or of the device that they all open."""
        return self.weight if self.opens else max(suspect.weight for suspect in self.suspects)

    @property
    def weight(self) -> float:
        return sum(suspect.weight for suspect in self.suspects)


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """What was found. ``sound``: the harness without any fault shows all that was seen, and nothing is suspected.

    ``ambiguity_groups``: the likeliest first; none explains all observations where ``partial``. ``next`` is ``None``
    where no volts tell the suspects apart; ``ohms`` and ``to_ground`` then have what may, with the battery out.
    ``unsolved``: faults that were not worked out all the way, and are no suspects, but nothing acquits them; nor does
    anything acquit a fault in the ``unpredicted`` ways in which the state may stand. ``dim_when_sound``: what is said
    to be dim and is so without any fault: taken as dimmer than that.
    """

    observations: tuple[Observation, ...]
    sound: bool
    ambiguity_groups: tuple[AmbiguityGroup, ...]
    partial: bool
    next: Measurement | None
    ohms: tuple[Ohms, ...] = ()
    to_ground: tuple[ToGround, ...] = ()
    unsolved: tuple[str, ...] = ()
    unpredicted: tuple[Unfollowed, ...] = ()
    dim_when_sound: tuple[str, ...] = ()

    @property
    def suspects(self) -> tuple[Suspect, ...]:
        """All of them, chain by chain."""
        return tuple(suspect for ambiguity_group in self.ambiguity_groups for suspect in ambiguity_group.suspects)


@dataclass(frozen=True, slots=True)
class _Hypothesis:
    """A fault in one mode, and what it would show: volts of all nodes in each of its ``cases`` (one where it is open;
    else from few ohms to many), how things stand, how well each observation fits. ``home`` is who found it;
    ``looks``: how things look beside a sound bike, where that may be less than they stand.
    """

    home: Diagnoser
    fault: Fault
    mode: Mode
    cases: Floats = field(repr=False)
    words: Mapping[str, str] = field(repr=False)
    fits: tuple[float, ...]
    looks: Mapping[str, str] | None = field(default=None, repr=False)

    @property
    def low(self) -> Floats:
        """V of all nodes with the fewest ohms."""
        low: Floats = self.cases[0]
        return low

    @property
    def agrees(self) -> tuple[int, float]:
        """What the better of two explanations has more of: observations that it explains, then how well."""
        return sum(self.explains), self.likeness

    @property
    def likeness(self) -> float:
        product = 1.0
        for fit in self.fits:
            product *= fit
        return product

    @property
    def explains(self) -> tuple[bool, ...]:
        return tuple(fit >= AGREES for fit in self.fits)


class Diagnoser:
    """Single faults against observations in one named state. Raises ``UnsolvableError`` for a state without numbers."""

    def __init__(self, sweep: Sweep, state: str, point: OperatingPoint | None = None) -> None:
        """``point``: the state as relays and machines stand in it; as it is reached from rest if left out."""
        self._sweep = sweep
        self._state = state
        self.here = sweep.state(state) if point is None else sweep.at(point)
        self._first = point is None
        self.point: OperatingPoint = self.here.point
        self._elements = Elements(self.point)
        self._nominal = self.point.circuit.harness.volts

    @cached_property
    def places(self) -> Places:
        """What can be seen, parts with a consumer and their elements, and where can be measured."""
        keys = [b.key for b in self._elements.branches]
        return places(self.point.circuit, dict.fromkeys((*self._parts, *keys)))

    def inquire(self, seen: Sequence[Observation]) -> Diagnosis:
        """What may have failed. Raises ``UnknownThingError``, and ``ObservationError`` for what cannot be."""
        seen = tuple(dict.fromkeys(seen))
        for each in seen:
            self._check(each)
        sound = max((d.weighed(d.here.sound, d.sound, seen) for d in self._ways), key=lambda each: each.agrees)
        if all(sound.explains):
            return Diagnosis(seen, True, (), False, None, unsolved=self._unweighed(()), unpredicted=self._unpredicted)
        found = list(self._found(seen))
        chosen = [h for h in found if all(h.explains)]
        partial = not chosen
        if partial:
            best = max((h.likeness for h in found), default=0.0)
            chosen = [h for h in found if h.likeness > max(sound.likeness, best * RIVALS)]
        weights = self._weights(chosen, seen)
        showings = [Showing(h.fault, h.mode, h.cases, w) for h, w in zip(chosen, weights, strict=True)]
        ambiguity_groups = self._chains(chosen, weights, seen)
        measured = next_measurement(
            self.point, self._pairs, showings, [each for each in seen if isinstance(each, Read)]
        )
        opens = [s.fault for c in ambiguity_groups for s in c.suspects if s.mode != SHORT]
        return Diagnosis(
            seen,
            False,
            ambiguity_groups,
            partial and bool(chosen),
            measured,
            ohms(self.point, opens) if measured is None and chosen[1:] else (),
            tuple(self._to_ground(ambiguity_groups)) if measured is None else (),
            self._unweighed(chosen),
            self._unpredicted,
            tuple(e.thing for e in seen if isinstance(e, Seen) and e.word == "dim" and self.sound[e.thing] == "dim"),
        )

    @cached_property
    def _ways(self) -> tuple[Diagnoser, ...]:
        """This state as it is reached from rest, then as it stands where relays and machines were left otherwise."""
        if not self._first:
            return (self,)
        others = self._sweep.operation.others(self._state)
        return (self, *(Diagnoser(self._sweep, self._state, point) for point in others if not point.shorted))

    @cached_property
    def _unpredicted(self) -> tuple[Unfollowed, ...]:
        """The ways in which relays and machines may have been left that are none of ``_ways``."""
        return self._sweep.operation.unfollowed(self._state)

    def _unweighed(self, chosen: Sequence[_Hypothesis]) -> tuple[str, ...]:
        """The faults that were not solved all the way and are not among the chosen: nothing acquits them."""
        known = {each.fault for each in chosen}
        return tuple(said for said, fault in self._unsolved.items() if fault not in known)

    @cached_property
    def _unsolved(self) -> Mapping[str, Fault]:
        """By its words, each fault that comes to no rest in some way that the state may stand, with the engine stopped
        where it does that, and each bad joint that with some ohms does so.
        """
        found: dict[str, Fault] = {}
        for each in self._ways:
            for name, outcome in each.outcomes.items():
                if outcome.volts is None or (each.halts(outcome) and name not in each.still):
                    found[str(outcome.fault)] = outcome.fault
                if outcome.fault.mode != SHORT and each.joints.partly(outcome.fault.key):
                    found[f"{outcome.fault.key} high resistance"] = outcome.fault
        return found

    def _found(self, seen: tuple[Observation, ...]) -> Iterator[_Hypothesis]:
        """Every fault, in the way that the state may stand in which it agrees best with what was seen; the first of
        them where they agree alike.
        """
        best: dict[Fault, _Hypothesis] = {}
        for detective in self._ways:
            for outcome in detective.outcomes.values():
                for each in detective.hypotheses(outcome, seen):
                    known = best.get(each.fault)
                    if known is None or each.agrees > known.agrees:
                        best[each.fault] = each
        yield from best.values()

    def _to_ground(self, ambiguity_groups: Sequence[AmbiguityGroup]) -> Iterator[ToGround]:
        """How the wires are found of which one may lie on ground."""
        for ambiguity_group in ambiguity_groups:
            if ambiguity_group.mode == SHORT:
                by_key = self.point.circuit.by_key
                wires, devices = (
                    [s.fault for s in ambiguity_group.suspects],
                    [by_key[key] for key in ambiguity_group.opens],
                )
                yield from to_ground(self.point, wires, devices, self._alternating)

    # --- what cannot be ----------------------------------------------------------------------------------------------
    def _check(self, each: Observation) -> None:
        if isinstance(each, Seen):
            if each.thing not in self.places.things:
                raise UnknownThingError(each.thing, self.places.things)
            on = [key for key in self._sweep.operation.alternating if each.thing in (key, key.partition(".")[0])]
            if on:
                raise ObservationError(
                    f"{each.thing} runs on alternating current, which {NOT_SOLVED}. {self._by_hand(on)}"
                )
            return
        for node in (each.red, each.black):
            if node in self._alternating:
                fed = [k for k in self._sweep.operation.alternating if node in self._ends(k)]
                raise ObservationError(
                    f"{each}: {node} has alternating current, which {NOT_SOLVED}. {self._by_hand(fed)}"
                )
        if self._outside(each, *self._span_of(each, self._volts)):
            least, most = self._span_of(each, self._volts_with_joints)
            if self._outside(each, least, most):
                raise ObservationError(" ".join((self._refusal(each, least, most), *self._left_out())))

    def _left_out(self) -> Iterator[str]:
        """What the most and the least of any one fault do not count, as sentences behind a question."""
        if unsolved := ", ".join(self._unsolved):
            yield f"Not weighed, since it could not be solved: {unsolved}."
        if ways := "; ".join(f"{self._state} {each}" for each in self._unpredicted):
            yield f"Not predicted: {ways}."

    def _span_of(self, each: Read, volts: Floats) -> tuple[float, float]:
        """The least V that a reading may show there with any one of some faults, and the most that there is anywhere;
        ``volts``: (cases, nodes).
        """
        index = self.point.flow.network.index
        lowest, highest = float(volts.min()), float(volts.max())
        most = highest if each.black == self.places.ground else highest - lowest
        least = 0.0 if each.either_way else float((volts[:, index[each.red]] - volts[:, index[each.black]]).min())
        return least, -lowest if each.red == self.places.ground else most

    def _outside(self, each: Read, least: float, most: float) -> bool:
        nominal = self._nominal
        return each.volts < least - tolerance(least, nominal) or each.volts > most + tolerance(most, nominal)

    def _refusal(self, each: Read, least: float, most: float) -> str:
        """Why a reading outside of all that there is with any one fault cannot be."""
        if each.volts > most:
            return (
                f"{each} is more than there is in {self._state}, {most:.1f} V at most with any one fault: is the meter "
                "set to DC volts, and the unit right?"
            )
        if each.volts >= 0.0:
            return (
                f"{each} is less than any one fault leaves there, {least:.1f} V: the battery itself may be flat or "
                "worn, or two things are wrong; charge and test it first."
            )
        return (
            f"{each} is below zero, and no single fault gives that there: are the leads the right way round, red "
            f"on {each.red} and black on {each.black}?"
        )

    def _ends(self, key: str) -> tuple[str, str]:
        branch = self.point.circuit.by_key[key]
        return branch.a, branch.b

    def _by_hand(self, keys: Sequence[str]) -> str:
        """What is measured instead at what runs on alternating current: elements by their keys, else the windings."""
        circuit = self.point.circuit
        windings = [b.key for b in circuit.branches if b.branch_type is BranchType.WINDING]
        read = " and ".join("from {} to {}".format(*self._ends(key)) for key in (*keys, *windings)[:1])
        ohms = " and ".join("from {} to {}".format(*self._ends(key)) for key in windings)
        asked = f"Set the meter to AC volts and read {read} while the engine turns" if read else ""
        then = f"engine stopped and unplugged, read the winding's ohms {ohms}" if ohms else ""
        known = f"{'; '.join(said for said in (asked, then) if said)}. The maker's manual has the values."
        leads = [
            node for part in {circuit.by_key[key].part: None for key in keys} for node in self._leads.get(part, ())[:1]
        ]
        if leads:
            known += f" First unplug {leads[0]}, its stop lead: if it sparks then, that wire or its switch is at fault."
        return known

    @cached_property
    def _alternating(self) -> frozenset[str]:
        return alternating(self.point, self._sweep.operation.alternating)

    @cached_property
    def _pairs(self) -> tuple[Pair, ...]:
        return tuple(pairs(self.point, self.places, self._alternating))

    # --- what each fault would show ----------------------------------------------------------------------------------
    @cached_property
    def outcomes(self) -> Mapping[str, Outcome]:
        """Every conductor and device that may be open, every load that may be, every wire that may lie on ground and
        burn nothing; by branch key, shorts by their own name.
        """
        found = dict(self.here.exact)
        for branch in self._elements.branches:
            if abs(self.point.amps(branch.key)) > 1e-6:
                found.update(self.here.solved({branch.key: Damage((branch,))}))
        found.update((_name(outcome.fault), outcome) for _, outcome in self._shorts.values())
        return found

    @cached_property
    def _shorts(self) -> Mapping[str, tuple[Short, Outcome]]:
        """Each wire that does something on ground, by its own end: what lies before every device too, which burns."""
        shorts = [s for s in Shorts(self.point, self._sweep.protection).all() if s.damage is not None]
        solved = self.here.solved({s.key: s.damage for s in shorts if s.damage is not None})
        return {s.key: (s, replace(solved[s.key], fault=Fault(s.key, SHORT))) for s in shorts}

    def opened(self, fault: Fault) -> tuple[str, ...]:
        """The keys of the devices that a fault opens: itself, or those that feed a wire on ground."""
        if fault.mode != SHORT:
            return (fault.key,)
        damage = self._shorts[fault.key][0].damage
        return tuple(branch.key for branch in damage.opened) if damage is not None else ()

    def halts(self, outcome: Outcome) -> bool:
        """Whether the engine, which ran by itself, stops with a fault."""
        return self._runs and outcome.volts is not None and not self.here.goes_on(outcome)

    @property
    def _runs(self) -> bool:
        return self.point.engine in BY_ITSELF and bool(self.here.running)

    @cached_property
    def _halted(self) -> _State | None:
        """The state with the engine stopped and the controls as they were; ``None``: it does not run, nothing settles
        then, or sources are shorted.
        """
        point = self.point
        if not self._runs:
            return None
        try:
            halted = self._sweep.operation.at({**point.positions, "engine": "off"}, point.memory)
        except UnsolvableError:
            return None  # with the engine stopped nothing settles: what stops it is told as not weighed
        return None if halted.shorted else self._sweep.at(halted)

    @cached_property
    def still(self) -> Mapping[str, Outcome]:
        """What each fault shows that stops the engine, once it has stopped."""
        if self._halted is None:
            return {}
        by_key = self.point.circuit.by_key
        found: dict[str, Damage] = {}
        for name, outcome in self.outcomes.items():
            if self.halts(outcome):
                short = self._shorts[outcome.fault.key][0] if outcome.fault.mode == SHORT else None
                damage = short.damage if short is not None else Damage((by_key[outcome.fault.key],))
                if damage is not None:
                    found[name] = damage
        solved = self._halted.solved(found)
        return {n: replace(o, fault=self.outcomes[n].fault) for n, o in solved.items() if o.volts is not None}

    @cached_property
    def _alike(self) -> Counter[tuple[str, ...]]:
        """How many wires on ground open the same devices."""
        return Counter(self.opened(o.fault) for o in self.outcomes.values() if o.fault.mode == SHORT)

    @cached_property
    def _volts(self) -> Floats:
        """Of every fault and of none, in each way that the state may stand and with the engine stopped where it does
        that: (cases, nodes).
        """
        import numpy as np

        found = []
        for each in self._ways:
            hurt = (o.volts for known in (each.outcomes, each.still) for o in known.values())
            found += [each.sound_volts, *(volts for volts in hurt if volts is not None)]
        return np.array(found)

    @cached_property
    def _volts_with_joints(self) -> Floats:
        """The same, and of every bad joint: one may show more or less than an open one does."""
        import numpy as np

        bad = (d.joints.of(o) for d in self._ways for o in d.outcomes.values() if o.fault.mode == "open")
        return np.concatenate([self._volts, *(cases[0] for cases in bad if cases is not None)])

    @cached_property
    def sound_volts(self) -> Floats:
        return self.point.flow.volts

    @cached_property
    def _sound_shares(self) -> Floats:
        import numpy as np

        return np.asarray(self._elements.at(self.point)[0])

    @cached_property
    def _parts(self) -> tuple[str, ...]:
        """The parts that can be dead or live: those with a consumer, and the ignition parts with a stop lead."""
        return tuple(dict.fromkeys((*(b.part for b in self._elements.branches), *self._leads)))

    @cached_property
    def _leads(self) -> Mapping[str, tuple[str, str]]:
        """The stop lead and own return of every ignition part that has one."""
        return {name: (lead, back) for name, lead, back in self.here.propagation.stop_leads}

    @cached_property
    def _words_of(self) -> Mapping[str, Mapping[str, str]]:
        """How everything stands with each fault, by its name."""
        alike: dict[int, Mapping[str, str]] = {}  # wires in one place have the very same shares
        found = {}
        for name, outcome in self.outcomes.items():
            if outcome.shares is not None:
                if id(outcome.shares) not in alike:
                    alike[id(outcome.shares)] = self._words(outcome.shares, outcome.stopped)
                found[name] = alike[id(outcome.shares)]
        return found

    @cached_property
    def _inside(self) -> Mapping[str, list[int]]:
        """The columns of ``_codes`` that say how each thing stands that can be seen."""
        found: dict[str, list[int]] = {branch.key: [i] for i, branch in enumerate(self._elements.branches)}
        for place, part in enumerate(self._leads, len(self._elements.branches)):
            found[part] = [place]
        for part in self._parts:
            found.setdefault(part, [i for i, b in enumerate(self._elements.branches) if b.part == part])
        return found

    @cached_property
    def sound(self) -> Mapping[str, str]:
        return self._words(self._sound_shares, self.here.sound.stopped)

    @cached_property
    def _sound_codes(self) -> NDArray[np.intp]:
        return self._codes(self._sound_shares[None, :], self.here.sound.stopped)

    def _codes(self, shares: Floats, stopped: frozenset[str]) -> NDArray[np.intp]:
        """How every element stands, as ``Elements.words`` has it, then every ignition part with a stop lead: dead where
        that is joined, else as live as its elements, or the engine turns; (cases, elements and leads).
        """
        import numpy as np

        codes = self._elements.words(shares)
        turns = 2 * (self.point.engine != "off")
        columns = [codes]
        for part in self._leads:
            own = [i for i, b in enumerate(self._elements.branches) if b.part == part]
            runs = codes[:, own].max(axis=1) if own else np.full(len(codes), turns)
            columns.append((runs * (part not in stopped))[:, None].astype(np.intp))
        return np.hstack(columns)

    def _words(self, shares: Floats, stopped: frozenset[str]) -> dict[str, str]:
        """How every part and element stands: a part is live when one of its elements is, dead when all are."""
        return self._told(self._codes(shares[None, :], stopped)[0])

    def _told(self, codes: NDArray[np.intp]) -> dict[str, str]:
        """How every part and element stands or looks, by its columns as ``_codes`` has them."""
        told = codes.tolist()
        return {thing: WORDS[max(told[i] for i in inside)] for thing, inside in self._inside.items()}

    def hypotheses(self, outcome: Outcome, seen: tuple[Observation, ...]) -> Iterator[_Hypothesis]:
        """A fault as an open one, or as a bad joint where that explains more."""
        if outcome.volts is None or outcome.shares is None:  # with some ohms in place of the opening it may rest
            if (bad := self._bad_joint(outcome, seen)) is not None:
                yield bad
            return
        opened = self.weighed(outcome, self._words_of[_name(outcome.fault)], seen)
        still = self.still.get(_name(outcome.fault))
        if still is not None and still.shares is not None:
            stopped = self.weighed(still, self._words(still.shares, still.stopped), seen)
            if not all(opened.explains) or all(stopped.explains):  # what is seen is seen with the engine stopped
                opened = max(stopped, opened, key=lambda each: each.agrees)
        bad = None if all(opened.explains) else self._bad_joint(outcome, seen)
        if bad is not None and bad.agrees > opened.agrees:
            yield bad
        else:
            yield opened

    def _bad_joint(self, outcome: Outcome, seen: tuple[Observation, ...]) -> _Hypothesis | None:
        """A branch with some ohms too many, as many as agree best with what was seen; the volts of all that explain as
        much.
        """
        import numpy as np

        branch = self.point.circuit.by_key.get(outcome.fault.key)
        if branch is None or branch.branch_type not in BAD or outcome.fault.mode != "open":
            return None
        opened = outcome.volts
        if opened is not None and not np.any(np.abs(opened - self.sound_volts) > 0.01 * self._nominal):
            return None
        cases = self.joints.of(outcome)
        if cases is None:
            return None
        volts, shares = cases
        stopped = self.here.sound.stopped
        codes = self._codes(shares, stopped)
        looks = self._looks(volts, codes)
        fits = self._fits(seen, volts, codes, looks)
        explained, likeness = (fits >= AGREES).sum(axis=1), fits.prod(axis=1)
        tops = np.flatnonzero(explained == explained.max())
        top = tops[np.argmax(likeness[tops])]
        alike = np.flatnonzero(((fits >= AGREES) == (fits[top] >= AGREES)).all(axis=1))
        # How it stands is told by those that fit well and change least else: what changed would have been spoken of.
        well = alike[likeness[alike] >= AGREES * likeness[top]]
        changed = (codes[well] != self._sound_codes).sum(axis=1)
        least = well[changed == changed.min()]
        best = least[np.argmax(likeness[least])]
        there = volts[alike].round(3)  # the ends of what any node may show are kept
        some = np.linspace(0, len(alike) - 1, SHOWN).round().astype(int)
        chosen = np.unique(np.concatenate((some, there.argmin(axis=0), there.argmax(axis=0))))
        return _Hypothesis(
            self,
            outcome.fault,
            "high resistance",
            volts[alike[chosen]],
            self._told(codes[best]),
            tuple(fits[best].tolist()),
            self._told(looks[USUAL][best]),
        )

    @cached_property
    def joints(self) -> Joints:
        """What bad joints show in this state."""
        return Joints(self.here, self.outcomes, self._halted, self.still, halts=self._runs)

    def weighed(self, outcome: Outcome, words: Mapping[str, str], seen: tuple[Observation, ...]) -> _Hypothesis:
        """A fault as the sweep has it. Raises ``TypeError`` for one without numbers."""
        if outcome.volts is None or outcome.shares is None:
            raise TypeError(f"{outcome.fault} has no numbers")
        codes = self._codes(outcome.shares[None, :], outcome.stopped)
        cases = outcome.volts[None, :]
        fits = self._fits(seen, cases, codes, self._looks(cases, codes, outcome.fault.key))[0]
        return _Hypothesis(self, outcome.fault, outcome.fault.mode, cases, words, tuple(fits.tolist()))

    def _looks(self, volts: Floats, codes: NDArray[np.intp], opened: str = "") -> list[NDArray[np.intp]]:
        """How every element looks to somebody who knows it sound, by each of ``LOOKS``, columns as in ``codes``: by the
        volts that it has there. What gets nothing when all is sound looks as it stands, and so does what a stop lead
        decides, and the element that is ``opened`` itself, whose volts do nothing. ``volts``: (cases, nodes).
        """
        import numpy as np

        count = len(self._elements.branches)
        (sound,) = self._elements.across(self.sound_volts[None, :])
        lit = (self._elements.words(self._sound_shares[None, :])[0] > 0) & (sound > 0.0)
        lit &= np.array([branch.key != opened for branch in self._elements.branches], dtype=bool)
        ratio = self._elements.across(volts) / np.where(lit, sound, 1.0)
        looks = [(ratio >= dark).astype(np.intp) + (ratio >= bright) for dark, bright in LOOKS]
        return [np.hstack((np.where(lit, each, codes[:, :count]), codes[:, count:])) for each in looks]

    def _fits(
        self,
        seen: tuple[Observation, ...],
        volts: Floats,
        codes: NDArray[np.intp],
        looks: Sequence[NDArray[np.intp]] = (),
    ) -> Floats:
        """How well each observation agrees with what is predicted, 0 to 1: half where a reading is a tolerance off.

        Nothing ever fits not at all: one reading that was taken in the wrong place does not acquit. ``volts``:
        (cases, nodes); ``codes`` as ``_codes`` has them, ``looks`` as ``_looks``: a word that is right by either is
        right. What is dim without any fault is judged by how it looks alone: who calls it dim means dimmer than that.
        The result: (cases, observations).
        """
        import numpy as np

        if looks:
            codes = np.where(self._sound_codes == WORDS.index("dim"), looks[USUAL], codes)
        found = np.empty((volts.shape[0], len(seen)))
        for i, each in enumerate(seen):
            if isinstance(each, Seen):
                inside = self._inside[each.thing]
                off = [
                    np.abs(each_way[:, inside].max(axis=1) - WORDS.index(each.word))  # as live as the liveliest in it
                    for each_way in (codes, *looks)
                ]
                found[:, i] = np.array(WORD_FITS)[np.min(off, axis=0)]
            else:
                predicted = self._predicted(each, volts)
                allowed = FLOOR * self._nominal + SHARE * np.abs(predicted)
                found[:, i] = 1.0 / (1.0 + ((predicted - each.volts) / allowed) ** 2)
        return found

    def _predicted(self, each: Read, volts: Floats) -> Floats:
        """V that a meter would show, in each case: volts of the nodes in the last axis."""
        import numpy as np

        index = self.point.flow.network.index
        value = volts[..., index[each.red]] - volts[..., index[each.black]]
        return np.abs(value) if each.either_way else np.asarray(value)

    # --- how likely, and why -----------------------------------------------------------------------------------------
    def _weights(self, chosen: Sequence[_Hypothesis], seen: tuple[Observation, ...]) -> list[float]:
        """What speaks for each, as shares of 1: how often it fails, how well it fits, how much it leaves unsaid."""
        raw = [
            h.home.likelihood(h) * h.likeness * UNSAID ** len([*h.home.unsaid(h, seen), *h.home.unseen(h)])
            for h in chosen
        ]
        total = sum(raw)
        return [weight / total for weight in raw]

    def likelihood(self, hypothesis: _Hypothesis) -> float:
        if hypothesis.mode == SHORT:
            opened = self.opened(hypothesis.fault)
            return (
                of_kind("shorts that blow a device") / self._alike[opened]
                if opened
                else of_kind("short that blows nothing")
            )
        often = odds(self.point.circuit.by_key[hypothesis.fault.key], self._grounds)
        return often * (BAD_JOINT if hypothesis.mode == "high resistance" else 1.0)

    @cached_property
    def _grounds(self) -> frozenset[str]:
        """The terminals that nothing can part from ground: what joins two of them is a ground joint."""
        circuit = self.point.circuit
        of = circuit.nets.of
        bodies = [n for n in circuit.at if isinstance(circuit.harness.parts.get(n), Ground)]
        nets = {of[node] for node in (*bodies, circuit.ground) if node in of}
        return frozenset(node for net in nets for node in circuit.nets.nodes[net])

    def unsaid(self, hypothesis: _Hypothesis, seen: tuple[Observation, ...]) -> list[str]:
        """The parts that would stand otherwise and of which nobody spoke."""
        said = self._spoken_of(seen)
        words = hypothesis.words
        return [part for part in self._parts if words[part] != self.sound[part] and part not in said]

    def _spoken_of(self, seen: tuple[Observation, ...]) -> set[str]:
        said = {each.thing.partition(".")[0] for each in seen if isinstance(each, Seen)}
        return said | {thing for each in seen if isinstance(each, Seen) for thing in self._owner(each.thing)}

    def besides(self, hypothesis: _Hypothesis, seen: tuple[Observation, ...]) -> Iterator[tuple[str, str]]:
        """The parts of which nobody spoke and that would stand otherwise, or look so beside a sound bike; and how."""
        unsaid = self.unsaid(hypothesis, seen)
        looks = hypothesis.looks or hypothesis.words
        said = self._spoken_of(seen)
        for part in self._parts:
            if part in unsaid:
                yield part, hypothesis.words[part]
            elif looks[part] != self.sound[part] and looks[part] != "live" and part not in said:
                yield part, looks[part]

    def unseen(self, hypothesis: _Hypothesis) -> Iterator[str]:
        """What it does besides that is no standing: to the charge of a battery."""
        if hypothesis.mode != "high resistance":
            for effect in self.outcomes[_name(hypothesis.fault)].effects:
                if effect.thing not in self.sound and not (effect.now in HEATED and self.burns(hypothesis.fault)):
                    yield effect.words()

    def _owner(self, thing: str) -> tuple[str, ...]:
        return tuple(b.part for b in self._elements.branches if b.key == thing)

    def _chains(
        self, chosen: Sequence[_Hypothesis], weights: Sequence[float], seen: tuple[Observation, ...]
    ) -> tuple[AmbiguityGroup, ...]:
        """Suspects in series that show the same, together, and so wires that open the same devices when they lie on
        ground, or that are joined; the chain with the likeliest of all first.

        Not the chain with most in it: what is looked at first is one thing.
        """
        groups: dict[tuple[object, ...], list[tuple[_Hypothesis, Suspect]]] = {}
        for hypothesis, weight in zip(chosen, weights, strict=True):
            look = (
                hypothesis.home.point.memory,
                hypothesis.home.together(hypothesis.fault),
                hypothesis.mode,
                hypothesis.explains,
                tuple(hypothesis.words.items()),
            )
            suspect = Suspect(hypothesis.fault, hypothesis.mode, weight)
            groups.setdefault(look, []).append((hypothesis, suspect))
        order = {branch.key: i for i, branch in enumerate(self.point.circuit.branches)}
        found = []
        for group in groups.values():
            home = group[0][0].home
            group.sort(key=lambda pair: home.height(pair[1].fault.key), reverse=True)
            first = group[0][0]
            opens = home.opened(first.fault) if first.mode == SHORT else ()
            keys = opens if first.mode == SHORT else tuple(suspect.fault.key for _, suspect in group)
            wires = [self.point.circuit.by_key[s.fault.key] for _, s in group] if first.mode == SHORT else []
            reasons = tuple(
                home.reason(each, fit >= AGREES, first, keys, wires) for each, fit in zip(seen, first.fits, strict=True)
            )
            also = tuple(f"{part} {look}" for part, look in home.besides(first, seen))
            found.append(
                AmbiguityGroup(
                    tuple(s for _, s in group),
                    reasons,
                    (*also, *home.unseen(first)),
                    opens,
                    home.burns(first.fault),
                    "" if home is self else how_left(self.point.memory, home.point.memory),
                )
            )
        return tuple(
            sorted(found, key=lambda c: (-round(c.likeliest, 9), -round(c.weight, 9), order[c.suspects[0].fault.key]))
        )

    def burns(self, fault: Fault) -> bool:
        """Whether a fault is a wire on ground that a battery feeds past no device."""
        return fault.mode == SHORT and self._shorts[fault.key][0].burns

    def together(self, fault: Fault) -> object:
        """What is the same for suspects that are told together."""
        if fault.mode != SHORT:
            return self._series.get(fault.key, fault.key)
        return self.opened(fault) or (self.burns(fault), self._shorts[fault.key][0].like)

    def height(self, key: str) -> tuple[float, int]:
        """The place of a branch in a series: V in its middle without any fault, from the ground up, to the microvolt;
        where no current flows, how many branches lie between it and the feed.
        """
        branch = self.point.circuit.by_key[key]
        middle = (self.point.volts(branch.a) + self.point.volts(branch.b)) / 2
        return round(-middle if self.places.positive else middle, 6), -self._reasons.from_feed(branch)

    @cached_property
    def _series(self) -> dict[str, str]:
        """For each branch that can open, the first of those in series with it in this state: nothing else that conducts
        meets them on the way. What is an open contact elsewhere is none here.
        """
        return series_groups(self.point.circuit, self.point.connectivity.conducts)

    @cached_property
    def _reasons(self) -> Reasons:
        return Reasons(self.point)

    def reason(
        self, each: Observation, explains: bool, hypothesis: _Hypothesis, keys: Sequence[str], wires: Sequence[Branch]
    ) -> Reason:
        """What is open where ``keys`` are, or where one of ``wires`` lies on ground, against one observation."""
        bad = hypothesis.mode == "high resistance"
        if isinstance(each, Seen):
            return Reason(each, explains, self._standing(each, explains, hypothesis, () if bad else keys, wires))
        low = float(self._predicted(each, hypothesis.low))
        if not bad:
            nodes = (each.red, each.black)
            cut = "; ".join(said for node in nodes if keys and (said := self._reasons.cut(node, keys)))
            said = f"predicts {_volts(low)} {each.where}" + ("" if explains else f", {_volts(each.volts)} was read")
            return Reason(each, explains, f"{said}: {cut}" if cut else said)
        opened_volts = self.outcomes[_name(hypothesis.fault)].volts
        cases = (self.sound_volts, opened_volts, *hypothesis.cases)
        predicted = [float(self._predicted(each, v)) for v in cases if v is not None]
        ends = " and ".join(dict.fromkeys((_volts(min(predicted)), _volts(max(predicted)))))
        between = (
            f"predicts something between {ends} {each.where}" if "and" in ends else f"predicts {ends} {each.where}"
        )
        return Reason(each, explains, between + ("" if explains else f", {_volts(each.volts)} was read"))

    def _standing(
        self, each: Seen, explains: bool, hypothesis: _Hypothesis, keys: Sequence[str], wires: Sequence[Branch]
    ) -> str:
        """Why a thing stands as it does: what is cut on its way, or what reaches it in volts."""
        words, sound = hypothesis.words, self.sound
        now = words[each.thing]
        if now == sound[each.thing] and (not explains or (now == each.word and now != "dim")):
            return f"{each.thing} is {now} with the fault and without"
        if now == sound[each.thing]:  # it works, and looks otherwise to whoever knows it sound
            return self._less(each.thing, hypothesis)
        inside = [b for b in self._elements.branches if each.thing in (b.key, b.part) and words[b.key] != sound[b.key]]
        if not inside:  # its stop lead alone makes the difference
            lead, back = self._leads[each.thing]
            said = f"{lead} is connected to {back}" if now == "dead" else f"{lead} is no longer connected to {back}"
            return said if explains else f"makes {each.thing} {now}: {said}"
        branch = next((b for b in inside if words[b.key] == now), inside[0])
        said = self._reasons.element(branch, keys, words, frozenset()) if keys else ""
        if not said or (now == "live" and sound[each.thing] == "dead"):
            index = self.point.flow.network.index
            was = abs(float(self.sound_volts[index[branch.a]] - self.sound_volts[index[branch.b]]))
            is_ = [abs(float(v[index[branch.a]] - v[index[branch.b]])) for v in hypothesis.cases]
            said = f"{_span(min(is_), max(is_))} across {branch.key} instead of {_volts(was)}"
            if wires:
                end = f"a wire behind {keys[0]}" if keys else self._end(wires, branch)
                said = f"with {end} shorted to ground, {said}"
        return said if explains else f"makes {each.thing} {now}: {said}"

    def _less(self, thing: str, hypothesis: _Hypothesis) -> str:
        """How much less an element of a thing gets, or more, where that is most."""
        index = self.point.flow.network.index

        def across(branch: Branch, volts: Floats) -> float:
            return abs(float(volts[index[branch.a]] - volts[index[branch.b]]))

        inside = [b for b in self._elements.branches if thing in (b.key, b.part)]
        branch = max(inside, key=lambda b: abs(across(b, hypothesis.low) - across(b, self.sound_volts)))
        ends = [across(branch, volts) for volts in hypothesis.cases]
        was = across(branch, self.sound_volts)
        return f"{_span(min(ends), max(ends))} across {branch.key} instead of {_volts(was)}"

    def _end(self, wires: Sequence[Branch], element: Branch) -> str:
        """Which end of some joined wires a person thinks of: at the element, or else at any part."""
        ends = list(dict.fromkeys(node for wire in wires for node in (wire.a, wire.b)))
        own = [node for node in ends if node in (element.a, element.b)]
        parts = self.point.circuit.harness.parts
        other = [n for n in ends if not isinstance(parts.get(n.partition(".")[0]), Connector | Splice)]
        return next(iter([*own, *other, *ends]))


def _name(fault: Fault) -> str:
    """What outcomes are kept by: the key of what is open, a short by its own words."""
    return fault.key if fault.mode != SHORT else str(fault)


def _volts(volts: float) -> str:
    return f"{volts:.1f} V".replace("-0.0 V", "0.0 V")


def _span(least: float, most: float) -> str:
    low, high = _volts(least), _volts(most)
    return low if low == high else f"{low[:-2]} to {high}"
