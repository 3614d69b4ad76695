"""Open texts before files, and each file a part of the harness that uses it."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from marked_text import LAMP, TODAY

from loomwright.lang.files.reading import UnreadableError
from loomwright.render.editor.workspace import CannotJudgeError, Desk, GivenUpError, Terms, in_library, path_of

WHOLE = LAMP.replace("fuse MAIN 5 A blade at tray\n", 'use "parts/fuses.loom"\n')
FUSES = "fuse MAIN 5 A blade at tray\n"


@pytest.fixture
def desk() -> Desk:
    return Desk(lambda: TODAY)


@pytest.fixture
def bike(tmp_path: Path) -> Path:
    (tmp_path / "parts").mkdir()
    (tmp_path / "parts/fuses.loom").write_text(FUSES)
    (tmp_path / "bike.loom").write_text(WHOLE)
    return tmp_path / "bike.loom"


def fuses(bike: Path) -> str:
    return os.fspath(bike.parent / "parts/fuses.loom")


def test_an_open_text_counts_before_the_disk(desk: Desk, bike: Path) -> None:
    root = os.fspath(bike)
    desk.put(root, WHOLE)
    assert desk.understood(root).sound
    desk.put(fuses(bike), FUSES.replace("MAIN", "OTHER"))
    assert {mistake.kind for mistake in desk.understood(root).reading.mistakes} == {"unknown-part"}
    desk.take(fuses(bike))
    assert desk.understood(root).sound


def test_a_reading_is_kept_while_its_texts_are(desk: Desk, bike: Path) -> None:
    root = os.fspath(bike)
    desk.put(root, WHOLE)
    known = desk.understood(root)
    assert desk.understood(root) is known
    Path(fuses(bike)).write_text(FUSES.replace("5 A", "10 A"))
    os.utime(fuses(bike), (1, 1))
    again = desk.understood(root)
    assert again is not known
    assert again.harness.parts["MAIN"].amps == 10.0  # type: ignore[attr-defined]


def test_a_file_belongs_to_what_uses_it(desk: Desk, bike: Path) -> None:
    desk.folders = (os.fspath(bike.parent),)
    desk.put(fuses(bike), FUSES)
    assert desk.roots() == (os.fspath(bike),)
    assert desk.understood(os.fspath(bike)).file_of(fuses(bike)) == fuses(bike)
    desk.put(os.fspath(bike), LAMP)  # it uses it no more
    assert desk.roots_of(fuses(bike)) == (fuses(bike),)
    desk.put(os.fspath(bike), WHOLE)
    assert desk.roots_of(fuses(bike)) == (os.fspath(bike),)
    desk.put(fuses(bike), f'loom "alone"\n{FUSES}')
    assert desk.roots_of(fuses(bike)) == (fuses(bike),)


def test_a_file_found_by_another_way_is_the_same(desk: Desk, bike: Path) -> None:
    link = bike.parent / "linked.loom"
    link.symlink_to(fuses(bike))
    desk.put(os.fspath(bike), WHOLE)
    desk.put(os.fspath(link), FUSES.replace("MAIN", "OTHER"))
    known = desk.understood(os.fspath(bike))
    assert not known.sound
    assert known.file_of(os.fspath(link)) == fuses(bike)


def test_nobody_waits_for_an_old_text(desk: Desk, bike: Path) -> None:
    root = os.fspath(bike)
    desk.put(root, WHOLE)
    known = desk.understood(root)
    assert known.report().findings == ()
    desk.put(fuses(bike), FUSES)  # opened: what was read of it is old
    with pytest.raises(GivenUpError):
        known.examination.between_rules()


def test_a_change_gives_up_the_examination(desk: Desk, bike: Path) -> None:
    root = os.fspath(bike)
    desk.put(root, WHOLE)
    known = desk.understood(root)
    desk.put(root, WHOLE + "\n")
    with pytest.raises(GivenUpError):
        known.report()
    assert desk.understood(root).report().findings == ()


def test_what_is_no_file_can_be_read_when_open(desk: Desk) -> None:
    desk.put("untitled:one", LAMP)
    assert desk.roots() == ("untitled:one",)
    assert desk.understood("untitled:one").sound
    with pytest.raises(UnreadableError):
        desk.understood("untitled:two")


def test_terms_that_cannot_be_had_are_told_and_nothing_is_judged(bike: Path) -> None:
    def terms(_root: str) -> Terms:
        raise CannotJudgeError("loomwright.toml: no such profile")

    desk = Desk(lambda: TODAY, terms)
    desk.put(os.fspath(bike), WHOLE)
    known = desk.understood(os.fspath(bike))
    assert not known.sound
    assert known.unjudged == "loomwright.toml: no such profile"


def test_terms_reach_the_examination(bike: Path) -> None:
    desk = Desk(lambda: TODAY, lambda _root: Terms({"profile": "small-craft"}))
    desk.put(os.fspath(bike), WHOLE)
    assert desk.understood(os.fspath(bike)).examination.profile.title == "small craft"


def test_names_of_the_harness_that_is_converted(desk: Desk, bike: Path) -> None:
    new = bike.with_name("new.loom")
    text = LAMP.replace('"A lamp"\n', '"A lamp"\nconverts "bike.loom"\n')
    desk.put(os.fspath(new), text)
    known = desk.understood(os.fspath(new))
    assert {"BAT", "MAIN", "3"} <= desk.old_names([known])
    desk.put(os.fspath(bike), "fuse OLD 5 A\n")  # unsaved, and it counts
    assert desk.old_names([known]) == {"OLD"}


def test_what_comes_with_the_tool_is_nobodys_to_change() -> None:
    assert not in_library("library/mine.loom")
    assert path_of("library/mine.loom") == "library/mine.loom"
