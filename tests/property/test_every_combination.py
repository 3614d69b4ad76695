"""The truth tables against plain graph search on every combination of random harnesses."""

from __future__ import annotations

import itertools

from hypothesis import assume, given, note, settings
from plain_search import PlainSearch
from random_switching import switching_texts

from loomwright.checks.conduction import AtPole, Conduction, Joined, Shorted
from loomwright.checks.conduction.network import DIRECT
from loomwright.lang.circuit import build_circuit
from loomwright.lang.reading import read_text


def compare(text: str) -> None:
    """Every element and a terminal of each, may and must, in every combination."""
    note(text)
    reading = read_text(text)
    assert not reading.mistakes, reading.mistakes
    circuit = build_circuit(reading.harness)
    judge = PlainSearch(circuit)
    assume(not judge.always_shorted)
    whole, cones = Conduction(circuit), Conduction(circuit)
    cones.whole_bits = cones.cluster_bits = 0
    assert sorted(judge.remembers) == sorted(whole.network.remembers)

    if any(name.endswith((" on", " set")) for name in judge.remembers):
        assume(not judge.logic_chatters())
    combinations = judge.combinations()
    occurring = judge.occurring()
    moments = {
        i: [
            holds
            for memory in memories
            if not judge.shorted(combinations[i], holds := judge.all_holds(combinations[i], memory))
        ]
        for i, memories in occurring.items()
    }
    hidden = set(judge.free)
    seen = [tuple((n, p) for n, p in c.items() if n not in hidden) for c in combinations]
    for branch, conduction in itertools.product(whole.consumers, (whole, cones)):
        for question, asked in (
            (Joined(branch.key), lambda p, h, b=branch: judge.joined(b, p, h)),
            (AtPole(branch.a, feed=True), lambda p, h, b=branch: judge.fed(b.a, p, h)),
        ):
            scope = conduction.scope(question)
            table = question.table(scope)
            may, must = scope.may(table), scope.must(table)
            answers = {i: [asked(combinations[i], holds) for holds in moments[i]] for i in moments}
            can = {seen[i] for i, found in answers.items() if any(found)}
            always = must_hold(judge, combinations, seen, answers)
            for i, positions in enumerate(combinations):
                index = scope.index({n: p for n, p in positions.items() if n in scope})
                here = (question, positions)
                assert bool((may >> index) & 1) == (seen[i] in can), here
                assert bool((must >> index) & 1) == (seen[i] in always), here


def must_hold(judge, combinations, seen, answers) -> set:
    """In every condition that occurs, for some position of a crank switch but each of an unreliable joint."""
    joints = set(judge.joints)
    groups: dict = {}
    for i, found in answers.items():
        if found:
            joint = tuple(combinations[i][j] for j in sorted(joints))
            groups.setdefault(seen[i], {}).setdefault(joint, []).append(all(found))
    return {key for key, by_joint in groups.items() if all(any(oks) for oks in by_joint.values())}


@settings(max_examples=30)
@given(switching_texts())
def test_tables_are_plain_search(text: str) -> None:
    compare(text)


@settings(max_examples=20)
@given(switching_texts(most_switches=2, most_relays=2))
def test_shorts_are_plain_search(text: str) -> None:
    circuit = build_circuit(read_text(text).harness)
    judge = PlainSearch(circuit)
    conduction = Conduction(circuit)
    combinations = judge.combinations()
    occurring = judge.occurring()
    short = {
        i
        for i, memories in occurring.items()
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
