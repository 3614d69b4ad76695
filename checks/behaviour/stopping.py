"""That each control stops each ignition part, whatever a dead short that it makes has blown."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Literal

from ...lang.circuit.branch import InPosition
from ...lang.circuit.branch_types import BranchType
from ...lang.model.parts import Fuse
from ...lang.records import dataclass
from ..logic import current_paths
from ..logic.analysis import TooWideError
from ..logic.part_predicates import Runs, Stopped, driven_coils, feed_keys, is_ignition, stop_lead
from ..logic.predicates import AllOf, In, Shows, implied
from ..logic.terms import ANY, BATTERY
from .keys import StopControl, stop_controls
from .proof import Proof, dead_through_loads, fed_path, nearest, past_ballast
from .undecided import UndecidedError, too_wide

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from ...lang.circuit.branch import Branch
    from ...lang.model.parts import Part
    from ..logic.analysis import SwitchingLogic
    from ..logic.predicates import Question
    from ..logic.state_space import StateSpace
    from ..logic.switching_network import SwitchingNetwork
    from ..logic.truth_tables import Table


MOST_SHORTS = 8


MOST_BLOWN = 4
"""This many dead shorts that a stop makes are followed, each until this many fuses have opened (ours)."""


@dataclass(frozen=True, slots=True)
class Kill:
    """The proof that one control stops one ignition part."""

    control: StopControl
    part: str
    proof: Proof


def ignition_parts(network: SwitchingNetwork) -> tuple[Part, ...]:
    """Everything that makes sparks, in the order of the text."""
    removed = network.circuit.removed
    return tuple(part for part in network.harness.parts.values() if is_ignition(part) and part.name not in removed)


def kills(logic: SwitchingLogic, asked: Callable[[str], bool] = lambda _: True) -> Iterator[Kill]:
    """Every stop control against every ignition part, each by itself; of the switches that are ``asked`` about."""
    for control in stop_controls(logic.network):
        if not asked(control.switch):
            continue
        for part in ignition_parts(logic.network):
            try:
                proof = _whatever_blows(logic, _meant(logic.network, control), partial(_kill, control, part))
            except TooWideError as wide:
                proof = Proof(ended="open", why=too_wide(wide))
            except UndecidedError as undecided:
                proof = Proof(ended="open", why=str(undecided))
            yield Kill(control, part.name, proof)


@dataclass(frozen=True, slots=True)
class Turning:
    """The engine in any position but `off`, where anything depends on it: a stop is asked of an engine that turns."""

    def needs(self, _network: SwitchingNetwork) -> frozenset[str]:
        return frozenset()

    def table(self, scope: StateSpace) -> Table:
        return scope.full ^ scope.at("engine", "off") if "engine" in scope else scope.full


def _meant(network: SwitchingNetwork, control: StopControl) -> In:
    return In(control.control, tuple(network.positions_meant(control.switch, control.position)[1]))


def _kill(control: StopControl, part: Part, logic: SwitchingLogic) -> Proof:
    network = logic.network
    meant = _meant(network, control)
    asked = AllOf((meant, Turning()))
    driven = driven_coils(network, part)
    keys = tuple(key for _, key in driven) or feed_keys(network, part)
    if not keys:
        shown = nearest(logic, Runs(part.name), meant, asked)
        return Proof(ended="holds") if shown is None else Proof(ended="refuted", by="stop lead", shown=shown)
    for kinds in (BATTERY, ANY):
        shown = nearest(logic, Runs(part.name, kinds, "nets"), meant, asked)
        if shown is not None:
            by: Literal["battery", "machine"] = "battery" if kinds == BATTERY else "machine"
            return Proof(ended="refuted", by=by, shown=shown, path=fed_path(logic, shown, keys, kinds))
    return past_ballast(logic, _still_through_loads(logic, part, asked), keys)


def _still_through_loads(logic: SwitchingLogic, part: Part, while_: Question) -> Proof:
    """The proof that nothing that comes through other loads keeps an ignition part running.

    A unit that drives coils is as still as the worst of them, each asked while the output that it depends on is on.
    """
    but = Stopped(part.name) if stop_lead(part) else None
    driven = driven_coils(logic.network, part)
    if not driven:
        return dead_through_loads(logic, feed_keys(logic.network, part), while_, but=but)
    found = Proof(ended="holds")
    for output, key in driven:
        proof = dead_through_loads(logic, (key,), while_, but=but, also=(Shows(output),))
        if proof.ended == "refuted":
            return proof
        if found.ended == "holds":
            found = proof
    return found


def _whatever_blows(logic: SwitchingLogic, while_: Question, prove: Callable[[SwitchingLogic], Proof]) -> Proof:
    """A proof, and where a dead short hides combinations from it, the same once what is in its way has opened.

    Of a short nothing else is asked, and a stop that shorts a feed would hold for want of any combination. What has
    blown stays blown, so all that is asked about is asked again. Raises as ``prove``.
    """
    proof = prove(logic)
    return proof if proof.ended != "holds" else _after_shorts(logic, while_, prove, ()) or proof


def _after_shorts(
    logic: SwitchingLogic, while_: Question, prove: Callable[[SwitchingLogic], Proof], opened: tuple[str, ...]
) -> Proof | None:
    """How a proof ends that no longer holds once fuses have opened in dead shorts; ``None`` where it holds on.

    Open where what is asked about makes a dead short itself that no fuse ends.
    """
    here = logic.without(opened) if opened else logic
    if not here.can_short:
        return None
    scope = here.scope(while_)
    asked = while_.table(scope) & Turning().table(scope) & scope.occurring
    left = asked & scope.shorts
    made = frozenset(control for control, _ in implied(while_, here.network))
    for _ in range(MOST_SHORTS):
        shown = here.show(scope, left)
        if shown is None:
            break
        ways = [current_paths.short_path(here, shown, origin) for origin in here.shorted(shown)]
        way = next((way for way in ways if _first_to_open(here, way) is not None), ways[0])
        closed = scope.full
        for branch in way:
            closed &= scope.conducting(branch)
        left &= left ^ closed
        blown = _first_to_open(here, way)
        if blown is None:
            if not asked & scope.counted or any(_sets(branch, made) for branch in way):
                return Proof(ended="open", by="short", shown=shown, why="it is a dead short there, and no fuse ends it")
            continue  # something else makes the short, and without that the answer is there
        known = (*opened, blown)
        proof = prove(logic.without(known))
        if proof.ended != "holds":
            return replace(proof, after=known)
        deeper = _after_shorts(logic, while_, prove, known) if len(known) < MOST_BLOWN else None
        if deeper is not None and deeper.ended == "refuted":
            return deeper
    return None


def _sets(branch: Branch, controls: frozenset[str]) -> bool:
    return isinstance(branch.guard, InPosition) and branch.guard.control in controls


def _first_to_open(logic: SwitchingLogic, way: Iterable[Branch]) -> str | None:
    """The fuse on the way of a short that opens first: that of the least rating, the first where none is known."""
    parts = logic.network.harness.parts
    fuses = [
        part
        for branch in way
        if branch.branch_type is BranchType.FUSE and isinstance(part := parts.get(branch.part), Fuse)
    ]
    return min(fuses, key=lambda fuse: math.inf if fuse.amps is None else fuse.amps).name if fuses else None
