"""One fault as what may have failed: open, or as a bad joint with as many ohms as agree best with what was seen."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import field, replace
from typing import TYPE_CHECKING

from ...lang.model.conditions import BY_ITSELF
from ...lang.records import dataclass
from ..ac.harmonics import stacked, swing_rows
from ..fmea.bad_joints import BAD
from ..fmea.failure_modes import Fault
from .diagnosis import Mode
from .held_back import spread
from .likelihood import AGREES, fits
from .observations import Observation
from .predictions import Predictions, name_of
from .ruled_out import NOTHING, RuledOut
from .statuses import USUAL

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from ..fmea.outcome import Outcome

    Floats = NDArray[np.float64]


SHOWN = 9
"""This many of the cases of a bad joint say what it may show between the least and the most at any terminal."""

SLOWER = 5
"""This many engine speeds of an alternator that nothing regulates, from the fastest down."""


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """A fault in one mode, and what it would show: stacks of all nodes, see ``ac.harmonics``, in each of its ``cases``
    (one where it is open; else from few ohms to many), how things stand, how well each observation fits. ``home`` is
    who found it; ``looks``: how things look beside a sound bike, where that may be less than they stand. ``earlier``:
    it was there before machines were excited and relays in, and shows this for that reason. ``kept``: the cases that
    what was read leaves, where it leaves out some. ``unsteady``: the cases that are no operating point, since
    ``chatters`` keep switching; no figure is stated from these. ``stops``: the engine, which ran, stands still in all
    of them.
    """

    home: Predictions
    fault: Fault
    mode: Mode
    cases: Floats = field(repr=False)
    words: Mapping[str, str] = field(repr=False)
    fits: tuple[float, ...]
    looks: Mapping[str, str] = field(repr=False)
    unsteady: NDArray[np.bool_] | None = field(default=None, repr=False)
    chatters: tuple[str, ...] = ()
    earlier: bool = False
    stops: bool = False
    kept: NDArray[np.bool_] | None = field(default=None, repr=False)

    @property
    def left(self) -> Floats:
        """The stack of all nodes in each case that what was read leaves: what the next reading is to tell apart."""
        return self.cases if self.kept is None else self.cases[self.kept]

    @property
    def steady(self) -> Floats:
        """The stack of all nodes in each case that is an operating point: none where all of them keep switching."""
        return self.cases if self.unsteady is None else self.cases[~self.unsteady]

    @property
    def low(self) -> Floats:
        """The stack of all nodes with the fewest ohms."""
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


def hypotheses(
    here: Predictions, outcome: Outcome, seen: tuple[Observation, ...], ruled_out: RuledOut = NOTHING
) -> Iterator[Hypothesis]:
    """A fault as an open one, or as a bad joint where that explains more; nothing of what is ``ruled_out``."""
    fault = outcome.fault
    if fault.mode != "open" and str(fault) in ruled_out.faults:
        return
    most = ruled_out.most_ohms(fault.key)
    closed = fault.mode == "open" and ruled_out.opened(fault.key)
    if closed or outcome.volts is None or outcome.shares is None:  # with some ohms in place of the opening it may rest
        if (bad := _bad_joint(here, outcome, seen, most)) is not None:
            yield bad
        return
    opened = max(_opened(here, outcome, seen), key=lambda each: each.agrees)
    bad = None if all(opened.explains) else _bad_joint(here, outcome, seen, most)
    if bad is not None and bad.agrees > opened.agrees:
        yield bad
    else:
        yield opened


def _opened(here: Predictions, outcome: Outcome, seen: tuple[Observation, ...]) -> Iterator[Hypothesis]:
    """A fault as an open one: with the engine stopped where it stops that, and running where it does not. Both where
    some of its ignition is dim: that may still give a spark.
    """
    name = name_of(outcome.fault)
    words, still = here.words_of[name], here.still.get(name)
    if still is not None and still.shares is not None:
        yield replace(weighed(here, still, here.statuses.words(still.shares, still.stopped), seen), stops=True)
        if all(words[part] != "dim" for part in here.here.halting.sparks):
            return
    yield weighed(here, outcome, words, seen)
    before = here.earlier.get(name)
    if before is not None and before.shares is not None:
        yield weighed(here, before, here.statuses.words(before.shares, before.stopped), seen, earlier=True)


def _bad_joint(here: Predictions, outcome: Outcome, seen: tuple[Observation, ...], most: float) -> Hypothesis | None:
    """A branch with some ohms too many, as many as agree best with what was seen and no more than ``most``; the stacks
    of all that explain as much.
    """
    import numpy as np

    branch = here.point.circuit.by_key.get(outcome.fault.key)
    if branch is None or branch.branch_type not in BAD or outcome.fault.mode != "open":
        return None
    opened = outcome.stack
    if opened is not None and not np.any(np.abs(opened - here.sound_stack) > 0.01 * here.nominal):
        return None
    joint = here.joints.of(outcome) if most > 0.0 else None
    if joint is None or not (joint.ohms <= most).any():
        return None
    stacks, of = spread(here.held_back, here.point.flow.network, joint.stacks, seen)
    stacks, of = stacks[joint.ohms[of] <= most], of[joint.ohms[of] <= most]
    shares, unsteady = joint.shares[of], joint.unsteady[of]
    stopped = here.here.sound.stopped
    codes = here.statuses.codes(shares, stopped)
    looks = here.statuses.looks(stacks, codes)
    fitting = fits(here, seen, stacks, codes, looks)
    explained, likeness = (fitting >= AGREES).sum(axis=1), fitting.prod(axis=1)
    tops = np.flatnonzero(explained == explained.max())
    top = tops[np.argmax(likeness[tops])]
    alike = np.flatnonzero(((fitting >= AGREES) == (fitting[top] >= AGREES)).all(axis=1))
    # How it stands follows from those that fit well and change least else: what changed would have been spoken of.
    well = alike[likeness[alike] >= AGREES * likeness[top]]
    if not unsteady[well].all():  # how things stand is read off an operating point, where there is one
        well = well[~unsteady[well]]
    changed = (codes[well] != here.statuses.sound_codes).sum(axis=1)
    least = well[changed == changed.min()]
    best = least[np.argmax(likeness[least])]
    chosen = _telling(stacks[alike].round(3), unsteady[alike])
    return Hypothesis(
        here,
        outcome.fault,
        "high resistance",
        stacks[alike[chosen]],
        here.statuses.told(codes[best]),
        tuple(fitting[best].tolist()),
        here.statuses.told(looks[USUAL][best]),
        unsteady[alike[chosen]],
        joint.chatters if unsteady[alike].any() else (),
        stops=bool(joint.stops[of][alike].all()),
        earlier=here.point.engine in BY_ITSELF and bool(joint.earlier[of][alike].all()),  # else it is: one switches on
    )


def _telling(stacks: Floats, unsteady: NDArray[np.bool_]) -> NDArray[np.intp]:
    """Some of the cases, by place, the ends of what any node may show among them, on the average and rms: of all, and
    of the steady ones.
    """
    import numpy as np

    found = [np.linspace(0, len(stacks) - 1, SHOWN).round().astype(np.intp)]
    means, rms = stacks[:, 0], (stacks**2).sum(axis=1).round(6)
    for places in (np.arange(len(stacks)), np.flatnonzero(~unsteady)):
        for volts in (means, rms) if len(places) else ():
            found += [places[volts[places].argmin(axis=0)], places[volts[places].argmax(axis=0)]]
    return np.unique(np.concatenate(found))


def weighed(
    here: Predictions,
    outcome: Outcome,
    words: Mapping[str, str],
    seen: tuple[Observation, ...],
    *,
    earlier: bool = False,
) -> Hypothesis:
    """A fault as the sweep has it. ``earlier``: it was there before machines were excited and relays in. Raises
    ``TypeError`` for one without numbers.
    """
    if outcome.stack is None or outcome.shares is None:
        raise TypeError(f"{outcome.fault} has no numbers")
    import numpy as np

    lost = here.lost_fields(outcome, earlier=earlier)
    rows = swing_rows(here.point.flow.network)
    weak = [stacked(each.volts, each.swings, rows)[None, :] for each in lost if each.volts is not None]
    told = np.concatenate([_slower(here, outcome)[:, None, None] * outcome.stack, *weak])
    cases, of = spread(here.held_back, here.point.flow.network, told, seen)
    as_solved = np.repeat(outcome.shares[None, :], len(told) - len(lost), axis=0)
    shares = np.concatenate([as_solved, here.here.elements.after(lost)])[of]
    codes = here.statuses.codes(shares, outcome.stopped)
    looks = here.statuses.looks(cases, codes, outcome.fault.key)
    fitting = fits(here, seen, cases, codes, looks)
    best = fitting.prod(axis=1).argmax()
    # Of what a machine with a lost field may give, what was read leaves few; an engine never turns twice alike.
    alike = ((fitting >= AGREES) == (fitting[best] >= AGREES)).all(axis=1) | (of < len(told) - len(weak))
    looking = here.statuses.told(looks[USUAL][best])
    fitted = tuple(fitting[best].tolist())
    mode = outcome.fault.mode
    return Hypothesis(here, outcome.fault, mode, cases, words, fitted, looking, earlier=earlier, kept=alike)


def _slower(here: Predictions, outcome: Outcome) -> Floats:
    """The shares of its volts that a fault may show: 1 alone; and, where nothing regulates any more, from the most down
    to the regulated voltage. The sweep has the most that the alternator can do, and the engine may turn slower.
    """
    import numpy as np

    most = max((e.share for e in outcome.effects if e.now in ("unregulated", "overcharged")), default=0.0)
    network, volts = here.point.flow.network, outcome.volts
    regulated = network.regulated[""]
    if volts is None or most <= regulated:
        return np.ones(1)
    # The volts of all nodes are those while coils draw; what overcharges a battery is its mean.
    index = network.index
    closed = max(float(volts[index[s.plus[0]]] - volts[index[s.minus]]) for s, _ in network.batteries)
    return np.linspace(most, regulated, SLOWER) / closed
