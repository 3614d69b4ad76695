"""Open texts before files, and each file a part of the harness that uses it."""

from __future__ import annotations

import gc
import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from marked_text import LAMP, TODAY
from outside import PROFILE

from loomwright.lang.files.reading import UnreadableError
from loomwright.lang.syntax.parser import Memory
from loomwright.render.editor.workspace import (
    CannotJudgeError,
    GivenUpError,
    Terms,
    Understood,
    Workspace,
    in_library,
    path_of,
)

WHOLE = LAMP.replace("fuse MAIN 5 A blade at tray\n", 'use "parts/fuses.loom"\n')
FUSES = "fuse MAIN 5 A blade at tray\n"


@pytest.fixture
def workspace() -> Workspace:
    return Workspace(lambda: TODAY)


@pytest.fixture
def bike(tmp_path: Path) -> Path:
    (tmp_path / "parts").mkdir()
    (tmp_path / "parts/fuses.loom").write_text(FUSES)
    (tmp_path / "bike.loom").write_text(WHOLE)
    return tmp_path / "bike.loom"


def fuses(bike: Path) -> str:
    return os.fspath(bike.parent / "parts/fuses.loom")


def test_an_open_text_counts_before_the_disk(workspace: Workspace, bike: Path) -> None:
    root = os.fspath(bike)
    workspace.put(root, WHOLE)
    assert workspace.understood(root).sound
    workspace.put(fuses(bike), FUSES.replace("MAIN", "OTHER"))
    assert {mistake.kind for mistake in workspace.understood(root).reading.mistakes} == {"unknown-part"}
    workspace.take(fuses(bike))
    assert workspace.understood(root).sound


@pytest.fixture
def nothing_held() -> Iterator[None]:
    """What other tests left is set aside, and neither gone through nor counted."""
    gc.collect()
    gc.freeze()
    yield
    gc.unfreeze()


@pytest.mark.usefixtures("nothing_held")
def test_what_was_read_before_an_edit_or_of_a_closed_text_is_let_go(workspace: Workspace, bike: Path) -> None:
    def held() -> tuple[int, int]:
        gc.collect()
        found = gc.get_objects()
        return sum(type(each) is Understood for each in found), sum(type(each) is Memory for each in found)

    root = os.fspath(bike)
    for number in range(5):
        workspace.put(root, WHOLE.replace("5 W", f"{number + 1} W"))
        assert workspace.understood(root).mentions
    assert held() == (1, 2)
    workspace.take(root)
    assert held() == (0, 0)


def test_a_reading_is_kept_while_its_texts_are(workspace: Workspace, bike: Path) -> None:
    root = os.fspath(bike)
    workspace.put(root, WHOLE)
    known = workspace.understood(root)
    assert workspace.understood(root) is known
    Path(fuses(bike)).write_text(FUSES.replace("5 A", "10 A"))
    os.utime(fuses(bike), (1, 1))
    again = workspace.understood(root)
    assert again is not known
    assert again.harness.parts["MAIN"].amps == 10.0  # type: ignore[attr-defined]


def test_a_file_belongs_to_what_uses_it(workspace: Workspace, bike: Path) -> None:
    workspace.folders = (os.fspath(bike.parent),)
    workspace.put(fuses(bike), FUSES)
    assert workspace.roots() == (os.fspath(bike),)
    assert workspace.understood(os.fspath(bike)).file_of(fuses(bike)) == fuses(bike)
    workspace.put(os.fspath(bike), LAMP)  # it uses it no more
    assert workspace.roots_of(fuses(bike)) == (fuses(bike),)
    workspace.put(os.fspath(bike), WHOLE)
    assert workspace.roots_of(fuses(bike)) == (os.fspath(bike),)
    workspace.put(fuses(bike), f'loom "alone"\n{FUSES}')
    assert workspace.roots_of(fuses(bike)) == (fuses(bike),)


def test_a_file_found_by_another_way_is_the_same(workspace: Workspace, bike: Path) -> None:
    link = bike.parent / "linked.loom"
    link.symlink_to(fuses(bike))
    workspace.put(os.fspath(bike), WHOLE)
    workspace.put(os.fspath(link), FUSES.replace("MAIN", "OTHER"))
    known = workspace.understood(os.fspath(bike))
    assert not known.sound
    assert known.file_of(os.fspath(link)) == fuses(bike)


def test_nobody_waits_for_an_old_text(workspace: Workspace, bike: Path) -> None:
    root = os.fspath(bike)
    workspace.put(root, WHOLE)
    known = workspace.understood(root)
    assert known.report().findings == ()
    workspace.put(fuses(bike), FUSES)  # opened: what was read of it is old
    with pytest.raises(GivenUpError):
        known.study.between_rules()


def test_a_change_gives_up_the_examination(workspace: Workspace, bike: Path) -> None:
    root = os.fspath(bike)
    workspace.put(root, WHOLE)
    known = workspace.understood(root)
    workspace.put(root, WHOLE + "\n")
    with pytest.raises(GivenUpError):
        known.report()
    assert workspace.understood(root).report().findings == ()


def test_what_is_no_file_can_be_read_when_open(workspace: Workspace) -> None:
    workspace.put("untitled:one", LAMP)
    assert workspace.roots() == ("untitled:one",)
    assert workspace.understood("untitled:one").sound
    with pytest.raises(UnreadableError):
        workspace.understood("untitled:two")


def test_terms_that_cannot_be_had_are_told_and_nothing_is_judged(bike: Path) -> None:
    def terms(_root: str) -> Terms:
        raise CannotJudgeError("loomwright.toml: no such profile")

    workspace = Workspace(lambda: TODAY, terms)
    workspace.put(os.fspath(bike), WHOLE)
    known = workspace.understood(os.fspath(bike))
    assert not known.sound
    assert known.unjudged == "loomwright.toml: no such profile"


def test_terms_reach_the_examination(bike: Path) -> None:
    workspace = Workspace(lambda: TODAY, lambda _root: Terms({"profile": "small-craft"}))
    workspace.put(os.fspath(bike), WHOLE)
    assert workspace.understood(os.fspath(bike)).study.profile.title == "small craft"


def test_names_of_the_harness_that_is_converted(workspace: Workspace, bike: Path) -> None:
    new = bike.with_name("new.loom")
    text = LAMP.replace('"A lamp"\n', '"A lamp"\nconverts "bike.loom"\n')
    workspace.put(os.fspath(new), text)
    known = workspace.understood(os.fspath(new))
    assert {"BAT", "MAIN", "3"} <= workspace.old_names([known])
    workspace.put(os.fspath(bike), "fuse OLD 5 A\n")  # unsaved, and it counts
    assert workspace.old_names([known]) == {"OLD"}


def test_what_comes_with_the_tool_is_nobodys_to_change() -> None:
    assert not in_library("library/mine.loom")
    assert path_of("library/mine.loom") == "library/mine.loom"


EDITS = 3000 if PROFILE == "thorough" else 900


@pytest.mark.usefixtures("nothing_held")
def test_thousands_of_edits_leave_nothing_behind(workspace: Workspace, bike: Path) -> None:
    """Sound ones and mistakes, some of them judged: what was understood of a text goes with it."""
    root, objects = os.fspath(bike), []
    for number in range(EDITS):
        workspace.put(root, f"{WHOLE}# {number}\n" if number % 10 else f"{WHOLE}fuse MAIN {number % 70}\n")
        known = workspace.understood(root)
        if number % 300 == 1:
            assert known.sound
            known.report()
        if number in (EDITS // 3 - 1, EDITS - 1):
            gc.collect()
            objects.append(len(gc.get_objects()))
    assert objects[1] - objects[0] < 500  # one reading is thousands
