"""The mutants are mutants: each differs from its module in one place, compiles, and says what it changed."""

from __future__ import annotations

import ast
import subprocess
import sys
from functools import partial
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from mutations import Mutant, mutants
from run import BESIDES, ROOT, Trial, is_killed, judges_of, kill_rule, modules, reasons, said_by_rules, trials

SOURCE = '''
"""Words."""
from os import path

LIMIT = 0.8

def found(amps, rated, names):
    """More words."""
    kept: dict[str, int] = {}
    for name in names:
        if amps > LIMIT * rated and name:
            continue
    return max(amps, rated) - 1 if names else [n for n in names if n]
'''


def test_each_changes_one_thing_and_says_it() -> None:
    told = {str(mutant) for mutant in mutants(SOURCE)}
    assert told >= {
        "0.8  ->  1.8",
        "amps > LIMIT * rated  ->  amps >= LIMIT * rated",
        "LIMIT * rated  ->  LIMIT / rated",
        "amps > LIMIT * rated and name  ->  amps > LIMIT * rated or name",
        "continue  ->  break",
        "max(amps, rated)  ->  min(amps, rated)",
        "max(amps, rated) - 1  ->  max(amps, rated) + 1",
        "return max(amps, rated) - 1 if names else [n for n in names if n]  ->  return None",
    }


def test_each_compiles_and_differs() -> None:
    plain = ast.dump(ast.parse(SOURCE))
    for mutant in mutants(SOURCE):
        assert ast.dump(mutant.make()) != plain
        compile(mutant.make(), "mutant", "exec")
        assert 1 < mutant.line <= SOURCE.count("\n")


def test_words_and_imports_are_left_alone() -> None:
    for mutant in mutants(SOURCE):
        assert "ords" not in mutant.was
        assert "import" not in mutant.was
        assert "str" not in mutant.was


def test_an_unchanged_rule_is_not_killed() -> None:
    """Not by the waivers in its harnesses for other rules, nor by what other rules explain of its findings."""
    for name in ("charge_deficit", "feedback_path"):
        file = ROOT / "checks" / "rules" / "behaviour" / f"{name}.py"
        whole = Trial(
            f"loomwright.checks.rules.behaviour.{name}",
            file,
            Mutant(1, "", "", partial(ast.parse, file.read_text("utf-8"))),
        )
        assert not is_killed(whole, kill_rule(said_by_rules([file])))


JUDGED = """
import ast, sys
from functools import partial
from pathlib import Path

sys.path[:0] = sys.argv[1:3]
from mutations import Mutant
from run import ROOT, Trial, UntriedError, _warm_up, is_killed, killed_by_tests

_warm_up()
file = ROOT / "lang" / "quantities" / "ranking.py"
tests = [ROOT / "tests" / "lang" / "quantities" / "test_ranking.py"]
whole = file.read_text("utf-8")
for text in (whole, whole.replace("one > other and", "one < other and")):
    trial = Trial("loomwright.lang.quantities.ranking", file, Mutant(1, "", "", partial(ast.parse, text)))
    print(is_killed(trial, lambda trial: killed_by_tests(tests)))
try:
    is_killed(trial, lambda trial: killed_by_tests([ROOT / "no_such_test.py"]))
except UntriedError:
    print("untried")
"""


def test_the_tests_of_a_module_kill_a_changed_one_alone() -> None:
    """And where pytest itself does not work nothing counts as killed."""
    here = Path(__file__).parent
    run = [sys.executable, "-c", JUDGED, str(here), str(here.parent)]
    assert subprocess.run(run, capture_output=True, text=True, check=True).stdout.split() == [
        "False",
        "True",
        "untried",
    ]


def test_every_analysis_has_tests_and_each_name_of_them_is_there() -> None:
    assert [name for names in BESIDES.values() for name in names if not [*(ROOT / "tests").glob(f"{name}.py")]] == []
    assert all(judges_of(file) for file in modules("analyses", []))


def test_each_reason_is_for_a_mutant_that_can_be_made() -> None:
    known = reasons()
    files = sorted({ROOT / file for file, _, _ in known})
    assert set(known) - {trial.key for trial in trials(files)} == set()


def test_annotations_and_asserts_are_left_alone() -> None:
    """They decide nothing: no test could kill such a mutant."""
    inside = """
def found(names, amps):
    at: dict[tuple[str, int], list[int]] = {}
    assert names is not None
    for name, amp in zip(names, amps, strict=True):
        at[name, amp] = []
    return at
"""
    assert {mutant.was for mutant in mutants(inside)} == {"(name, amp)", "return at"}
