"""A folder of harnesses on all cores: the same bytes in the same order, whatever was asked for."""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from loomwright.render.commands import cores, judging

ROOT = Path(__file__).resolve().parents[2]
OWN = """
from loomwright.checks.findings.finding import Level
from loomwright.checks.rule import Rule

def find(study):
    for wire in study.harness.wires.values():
        yield RULE.found("seen", wire.span, facts={"wire": wire.name}, about=(wire.name,))
        return

RULE = Rule(
    name="first-wire", level=Level.NOTE, family="workmanship", catches="a wire", why="to try", source="us",
    formula="the first wire", bad='loom "bad"', good='loom "good"', says={"seen": "wire {wire} is the first"},
    fixes={"seen": "let wire {wire} be"}, find=find,
)
"""


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """Harnesses of different sizes with findings, one with a mistake, and a rule of the shop's own."""
    for name in ("rebuild", "small/points-single", "rules/split-ground/bad"):
        text = (ROOT / "specs" / f"{name}.loom").read_text(encoding="utf-8")
        (tmp_path / f"{Path(name).name}-{len(name)}.loom").write_text(text.replace('converts "stock.loom"\n', ""))
    faulty = (ROOT / "specs" / "stock.loom").read_text(encoding="utf-8").splitlines(keepends=True)
    (tmp_path / "faulty.loom").write_text("".join(line for line in faulty if not line.startswith("wire 6 ")))
    (tmp_path / "mistaken.loom").write_text('loom "M"\nwire 1 A.1 to B.1 red 1 mm2 1 m\n', encoding="utf-8")
    (tmp_path / "shop.py").write_text(OWN, encoding="utf-8")
    (tmp_path / "loomwright.toml").write_text('own-rules = ["shop.py"]\n', encoding="utf-8")
    return tmp_path


def printed(folder: Path, *arguments: str) -> tuple[int, str, str]:
    command = [sys.executable, "-m", "loomwright", "check", ".", "--today", "2026-01-01", *arguments]
    done = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    return done.returncode, done.stdout, done.stderr


@pytest.mark.parametrize("arguments", [("--show-waived",), ("--format", "json", "--own-rules")])
def test_the_same_bytes_in_the_same_order(shop: Path, arguments: tuple[str, ...]) -> None:
    alone = printed(shop, "--jobs", "1", *arguments)
    assert alone[0] == 1
    assert "mistaken.loom" in alone[1]
    assert ("first-wire" in alone[1]) is ("--own-rules" in arguments)
    assert printed(shop, "--jobs", "3", *arguments) == alone


def test_a_list_that_is_broken_ends_the_command_as_ever(shop: Path) -> None:
    (shop / "accepted.json").write_text("{", encoding="utf-8")
    alone = printed(shop, "--jobs", "1", "--accepted", "accepted.json")
    assert alone[0] == 2
    assert printed(shop, "--jobs", "2", "--accepted", "accepted.json") == alone


@pytest.mark.skipif(not cores.CAN_FORK, reason="this system works one after the other")
def test_each_piece_of_work_is_done_once_in_some_process_of_its_own() -> None:
    found = cores.in_turn(lambda number: (number, os.getpid()), 20, 3, "checking")
    assert [number for number, _ in found] == list(range(20))
    assert os.getpid() not in {process for _, process in found}


def test_one_after_the_other_where_that_is_all_there_is(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cores, "CAN_FORK", False)
    assert cores.in_turn(lambda number: (number, os.getpid()), 3, 3, "checking") == [(n, os.getpid()) for n in range(3)]


def test_few_wires_are_checked_here(monkeypatch: pytest.MonkeyPatch) -> None:
    """Processes take longer to come than small files to be checked."""
    asked: list[int] = []
    monkeypatch.setattr(judging, "in_turn", lambda work, count, jobs, what: asked.append(jobs) or [work(0)])
    monkeypatch.chdir(ROOT / "specs")
    for name in ("small/points-single.loom", "stock.loom"):
        monkeypatch.setattr(judging, "MOST_ALONE", 50)
        judging.check_files([name], None, None, date(2026, 1, 1), own_rules=False, jobs=4)
    assert asked == [1, 4]
