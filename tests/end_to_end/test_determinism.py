"""The same text gives the same bytes whatever the seed of hashes, and the same findings whatever the order of lines."""

from __future__ import annotations

import json
import os
import random
import re
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest
from outside import some_of
from random_bikes import bike
from rounding_noise import noise, unsteady

from loomwright.checks.findings.finding import Finding
from loomwright.checks.runner.run import check
from loomwright.lang.files.reading import read_text

ROOT = Path(__file__).parents[2]
SEEDS = ("1", "11")  # told the worst combination of the first trial apart before ties were broken by name

WHOLE = ("specs/*.loom", "specs/small/*.loom")
MANY = ("tests/trials/*.loom", "specs/rules/*/edge-found.loom")
TOO_WIDE = "specs/rules/undecided-path/edge-found.loom"  # works as long as all other rules' together
EACH = 300  # of many files one in 300 is asked everything by day, and a twelfth of the others checked


def files(pattern: str) -> list[str]:
    found = sorted(path.relative_to(ROOT).as_posix() for path in ROOT.glob(pattern))
    assert found, pattern
    return found


def answers(whole: list[str], checked: list[str], seed: str) -> subprocess.Popen[bytes]:
    command = [sys.executable, str(ROOT / "tests" / "every_output.py"), str(ROOT), *whole, "--check", *checked]
    environment = {**os.environ, "PYTHONHASHSEED": seed}
    return subprocess.Popen(command, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE)


def test_every_output_is_the_same_with_another_seed_of_hashes() -> None:
    many = [name for pattern in MANY for name in files(pattern) if name != TOO_WIDE]
    whole = [*some_of(files(WHOLE[0]), 5), *some_of(files(WHOLE[1]), 15), *some_of(many, EACH)]
    checked = list(some_of([name for name in many if name not in whole], 20))
    running = [answers(whole, checked, seed) for seed in SEEDS]
    told = [process.communicate() for process in running]
    assert [process.returncode for process in running] == [0, 0], told[0][1].decode() + told[1][1].decode()
    first, second = (json.loads(output) for output, _ in told)
    assert len(first) > 8 * len(whole) + 6 * len(checked)
    assert [name for name in first if first[name] != second.get(name)] == []
    assert first.keys() == second.keys()


def test_what_is_said_does_not_depend_on_the_last_digits_of_a_solution() -> None:
    assert unsteady(1) == []


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_battery_that_discharges_alike_in_two_histories_does_so_from_rest(seed: int) -> None:
    with noise(seed):
        found = check(read_text(bike(170)), today=date(2026, 1, 1)).findings
    [said] = [finding.message for finding in found if finding.rule == "charge-deficit"]
    assert said == "BAT discharges at 9.34 A with the engine running: ALT does not charge"


def statements(text: str) -> list[str]:
    """The statements of a text, a block with its lines, a comment with what comes after it."""
    found: list[str] = []
    begun, depth = "", 0
    for line in text.splitlines(keepends=True):
        begun += line
        code = line.partition("#")[0]
        depth += code.count("{") - code.count("}")
        if depth == 0 and code.strip():
            found.append(begun)
            begun = ""
    return [*found, begun] if begun else found


def shuffled(text: str, seed: int) -> str:
    """The same statements in another order; those before the first part, which say what all others mean, stay first."""
    parts = statements(text)
    fixed = [each for each in parts if _first_word(each) in FIRST]
    free = [each for each in parts if _first_word(each) not in FIRST]
    random.Random(seed).shuffle(free)
    return "".join([*fixed, *free])


FIRST = ("loom", "language", "system", "use", "house", "pattern", "wires", "define")


def _first_word(statement: str) -> str:
    lines = [line for line in statement.splitlines() if line.partition("#")[0].strip()]
    return lines[0].split()[0] if lines else ""


def told(text: str) -> list[tuple[str, str, list[str]]]:
    """What is found. Places are left out, and so is the order of what a message lists, which is that of the text."""
    found: tuple[Finding, ...] = check(read_text(text, "bike.loom"), today=date(2026, 1, 1)).findings
    return sorted((each.rule, each.level.name, sorted(_WORD.findall(each.message))) for each in found)


_WORD = re.compile(r"[^\s,:;()]+")


@pytest.mark.parametrize("pattern", ["specs/small/*.loom", "tests/trials/*.loom"])
def test_the_order_of_lines_changes_no_finding(pattern: str) -> None:
    texts = {name: (ROOT / name).read_text(encoding="utf-8") for name in files(pattern)}
    assert [name for name, text in texts.items() if told(shuffled(text, 1)) != told(text)] == []
