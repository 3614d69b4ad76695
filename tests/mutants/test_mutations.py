"""The mutants are mutants: each differs from its module in one place, compiles, and says what it changed."""

from __future__ import annotations

import ast
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from mutations import mutants

SOURCE = '''
"""Words."""
from os import path

LIMIT = 0.8

def found(amps, rated, names):
    """More words."""
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
        assert ast.dump(mutant.tree) != plain
        compile(mutant.tree, "mutant", "exec")
        assert 1 < mutant.line <= SOURCE.count("\n")


def test_words_and_imports_are_left_alone() -> None:
    for mutant in mutants(SOURCE):
        assert "ords" not in mutant.was
        assert "import" not in mutant.was
