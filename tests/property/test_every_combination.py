"""The truth tables against plain graph search on every combination of random harnesses."""

from __future__ import annotations

import itertools

from hypothesis import assume, given, note, settings
from plain_search import PlainSearch, disagreements, moments
from random_switching import switching_texts

from loomwright.checks.behaviour.stopping import kills
from loomwright.checks.logic import SwitchingLogic
from loomwright.checks.logic.predicates import In, Shorted, ThroughLoads, implied
from loomwright.checks.logic.state_space import StateSpace
from loomwright.checks.logic.terms import DIRECT
from loomwright.lang.circuit.build import build_circuit
from loomwright.lang.files.reading import read_text


def judged(text: str) -> tuple[PlainSearch, SwitchingLogic]:
    note(text)
    reading = read_text(text)
    assert not reading.mistakes, reading.mistakes
    circuit = build_circuit(reading.harness)
    judge = PlainSearch(circuit)
    assume(not judge.always_shorted)
    return judge, SwitchingLogic(circuit, doubts={})  # of joined paths alone, as the search is


def assume_rest(judge: PlainSearch) -> None:
    """Leave out what never settles by its own logic: a latch that clears itself counts both ways then, and which
    others count so with it depends on what is looked at.
    """
    if any(name.endswith((" on", " set")) for name in judge.remembers):
        assume(not judge.logic_chatters())


def compare(text: str) -> None:
    """Every element, may and must, in every combination: from one table for all, and from one for each cone."""
    judge, whole = judged(text)
    cones = SwitchingLogic(whole.circuit, doubts={})
    cones.whole_bits = cones.cluster_bits = 0
    assert sorted(judge.remembers) == sorted(whole.network.remembers)
    assume_rest(judge)
    for logic in (whole, cones):
        assert disagreements(judge, logic, logic.consumers) == []


@settings(max_examples=100)
@given(switching_texts())
def test_tables_are_plain_search(text: str) -> None:
    compare(text)


@settings(max_examples=40)
@given(switching_texts(most_switches=2, most_relays=2))
def test_shorts_are_plain_search(text: str) -> None:
    judge, logic = judged(text)
    combinations = judge.combinations()
    short = {
        i
        for i, memories in judge.occurring().items()
        if any(judge.shorted(combinations[i], judge.all_holds(combinations[i], memory)) for memory in memories)
    }
    found: set[int] = set()
    for origin in logic.network.origins_of(DIRECT):
        asked = Shorted(origin)
        scope = logic.scope(asked)
        table = scope.some(asked.table(scope) & scope.occurring, scope.bits)
        for i, positions in enumerate(combinations):
            if (table >> scope.index({n: p for n, p in positions.items() if n in scope})) & 1:
                found.add(i)
    assert found == short


@settings(max_examples=80)
@given(switching_texts(most_switches=3, most_relays=1))
def test_what_is_known_of_a_control_narrows_the_cone_and_not_the_answer(text: str) -> None:
    """Paths through loads, asked about with one switch in one position: as in the table of all positions."""
    judge, logic = judged(text)
    assume_rest(judge)
    network = logic.network
    for control in logic.circuit.controls.values():
        if control.free or control.name == "engine":
            continue
        for branch, position in itertools.product(logic.consumers, control.positions):
            there = In(control.name, (position,))
            known = ThroughLoads(branch.key, DIRECT, implied(there, network))
            anything = ThroughLoads(branch.key, DIRECT)
            narrow = StateSpace(network, logic.support(known, there))
            wide = StateSpace(network, logic.support(anything, known, there))
            assert narrow.stride.keys() <= wide.stride.keys()
            answers = [
                scope.some(asked.table(scope) & there.table(scope) & scope.occurring, (*scope.bits, *scope.free))
                for scope, asked in ((narrow, known), (wide, anything))
            ]
            for index in wide.members(there.table(wide) & wide.possible):
                positions = {name: at for name, at in wide.positions(index).items() if name in narrow}
                assert (answers[0] >> narrow.index(positions)) & 1 == (answers[1] >> index) & 1


@settings(max_examples=60)
@given(switching_texts(most_switches=3, most_relays=1))
def test_the_cone_of_a_path_through_loads_holds_all_that_it_depends_on(text: str) -> None:
    """From the table of only its cone as from one of everything that moves."""
    judge, logic = judged(text)
    assume_rest(judge)
    network = logic.network
    whole = StateSpace(network, (*network.variables, *network.remembers))
    for branch in logic.consumers:
        asked = ThroughLoads(branch.key, DIRECT)
        cone = StateSpace(network, logic.support(asked))
        answers = [
            scope.some(asked.table(scope) & scope.occurring, (*scope.bits, *scope.free)) for scope in (cone, whole)
        ]
        for index in whole.members(whole.possible):
            positions = {name: at for name, at in whole.positions(index).items() if name in cone}
            assert (answers[0] >> cone.index(positions)) & 1 == (answers[1] >> index) & 1


def with_ignition(text: str) -> str:
    """The same harness with its first lamp an ignition part and its first switch a stop switch, where it has two
    own positions to be one.
    """
    lines = []
    for line in text.splitlines():
        if line.startswith("load L0 "):
            line = line.replace(" lamp ", " ignition ").replace(" led ", " ignition ")
        if line.startswith("switch S0 ") and "gearbox" not in line:
            line = line.replace("{ a:", "{ run:").replace("; b:", "; stop:")
        lines.append(line)
    return "\n".join(lines) + "\n"


@settings(max_examples=100)
@given(switching_texts())
def test_kill_proofs_are_plain_search(text: str) -> None:
    """What a stop switch does not stop, by whatever is joined: found, and found to be fed by what feeds it."""
    judge, logic = judged(with_ignition(text))
    assume_rest(judge)
    combinations = judge.combinations()
    when = moments(judge)
    for kill in kills(logic):
        part = logic.network.harness.parts[kill.part]
        held = [i for i, p in enumerate(combinations) if p[kill.control.control] == kill.control.position]
        runs = {
            kinds: any(judge.runs(part, combinations[i], holds, kinds) for i in held for holds in when[i])
            for kinds in (("battery",), ("battery", "machine", "winding"))
        }
        by_battery, by_any = runs.values()
        assert (kill.proof.by == "battery") == by_battery
        assert (kill.proof.by == "machine") == (by_any and not by_battery)
        if by_any:
            shown = kill.proof.shown
            assert shown is not None
            assert kill.proof.path
            assert shown.positions[kill.control.control] == kill.control.position
