"""The tutorial prints what it shows: each step's harness, what ``check`` says of it, and every command of its pages."""

from __future__ import annotations

import shlex
from pathlib import Path

import pytest
from tutorial import FOLDER, checked, pages, quoted, steps, written

from loomwright.lang.files.reading import read_file
from loomwright.render.schematic.schematic import draw, write

STEPS = 10
LAST = "10-motorcycle.loom"


@pytest.mark.parametrize("step", steps(), ids=lambda path: path.stem)
def test_check_prints_what_stands_beside_a_step(step: Path) -> None:
    assert checked(step) == step.with_suffix(".txt").read_text("utf-8")


@pytest.mark.parametrize("page", pages(), ids=lambda path: path.name)
def test_the_commands_of_a_page_print_what_it_shows(page: Path) -> None:
    assert written(page) == page.read_text("utf-8")


@pytest.mark.parametrize("page", pages(), ids=lambda path: path.name)
def test_the_lines_of_a_page_are_lines_of_the_harness_that_is_read_next(page: Path) -> None:
    for line, command in quoted(page):
        read = next(word for word in shlex.split(command) if word.endswith(".loom"))
        text = (FOLDER / read).read_text("utf-8")
        assert line in {each.strip() for each in text.splitlines()}, f"{read}: {line}"


def test_every_step_of_the_first_page_finds_something_but_the_last() -> None:
    numbered = [step for step in steps() if step.name[0].isdigit()]
    assert [step.name[:2] for step in numbered] == [f"{number:02}" for number in range(1, STEPS + 1)]
    clean = [step.name for step in numbered if "nothing found" in step.with_suffix(".txt").read_text("utf-8")]
    assert clean == [LAST]


def test_the_drawing_is_current(tmp_path: Path) -> None:
    target = tmp_path / "starting.svg"
    write(draw(read_file(str(FOLDER / LAST)).harness, system="starting", engine="graphviz-pure"), target)
    assert (FOLDER / "starting.svg").read_bytes() == target.read_bytes(), "draw it again with graphviz-pure"
