"""The truth tables against plain graph search on every combination of random harnesses."""

from __future__ import annotations

import itertools

from hypothesis import assume, given, note, settings
from plain_search import PlainSearch, disagreements
from random_switching import switching_texts

from loomwright.checks.conduction import Conduction, In, Shorted, ThroughLoads
from loomwright.checks.conduction.network import DIRECT
from loomwright.checks.conduction.questions import implied
from loomwright.lang.circuit import build_circuit
from loomwright.lang.reading import read_text


def judged(text: str) -> tuple[PlainSearch, Conduction]:
    note(text)
    reading = read_text(text)
    assert not reading.mistakes, reading.mistakes
    circuit = build_circuit(reading.harness)
    judge = PlainSearch(circuit)
    assume(not judge.always_shorted)
    return judge, Conduction(circuit)


def compare(text: str) -> None:
    """Every element, may and must, in every combination: from one table for all, and from one for each cone."""
    judge, whole = judged(text)
    cones = Conduction(whole.circuit)
    cones.whole_bits = cones.cluster_bits = 0
    assert sorted(judge.remembers) == sorted(whole.network.remembers)
    if any(name.endswith((" on", " set")) for name in judge.remembers):
        assume(not judge.logic_chatters())
    for conduction in (whole, cones):
        assert disagreements(judge, conduction, conduction.consumers) == []


@settings(max_examples=100)
@given(switching_texts())
def test_tables_are_plain_search(text: str) -> None:
    compare(text)


@settings(max_examples=40)
@given(switching_texts(most_switches=2, most_relays=2))
def test_shorts_are_plain_search(text: str) -> None:
    judge, conduction = judged(text)
    combinations = judge.combinations()
    short = {
        i
        for i, memories in judge.occurring().items()
        if any(judge.shorted(combinations[i], judge.all_holds(combinations[i], memory)) for memory in memories)
    }
    found: set[int] = set()
    for origin in conduction.network.origins_of(DIRECT):
        asked = Shorted(origin)
        scope = conduction.scope(asked)
        table = scope.some(asked.table(scope) & scope.occurring, scope.bits)
        for i, positions in enumerate(combinations):
            if (table >> scope.index({n: p for n, p in positions.items() if n in scope})) & 1:
                found.add(i)
    assert found == short


@settings(max_examples=60)
@given(switching_texts(most_switches=3, most_relays=1))
def test_what_is_known_of_a_control_narrows_the_cone_and_not_the_answer(text: str) -> None:
    """Paths through loads, asked about with one switch in one position: as in the table of all positions."""
    _, conduction = judged(text)
    conduction.whole_bits = conduction.cluster_bits = 0
    for control in conduction.circuit.controls.values():
        if control.free or control.name == "engine":
            continue
        for branch, position in itertools.product(conduction.consumers, control.positions):
            there = In(control.name, (position,))
            known = ThroughLoads(branch.key, DIRECT, implied(there, conduction.network))
            anything = ThroughLoads(branch.key, DIRECT)
            narrow, wide = conduction.scope(known, there), conduction.scope(anything, known, there)
            assert narrow.stride.keys() <= wide.stride.keys()
            narrow_answer = narrow.may(known.table(narrow) & there.table(narrow)) & there.table(narrow)
            wide_answer = wide.may(anything.table(wide) & there.table(wide)) & there.table(wide)
            for index in range(wide.size):
                positions = {name: at for name, at in wide.positions(index).items() if name in narrow}
                assert (wide_answer >> index) & 1 == (narrow_answer >> narrow.index(positions)) & 1 or not (
                    (wide.some(wide.counted, wide.bits) & there.table(wide)) >> index
                ) & 1
