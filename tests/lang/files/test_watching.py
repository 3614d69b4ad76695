"""A harness is read again on every save, whatever an editor does to its files."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from loomwright.lang.files.reading import UnreadableError
from loomwright.lang.files.watching import PATIENCE, PAUSE, readings
from loomwright.lang.model.harness import Reading


class Desk:
    """Somebody at work: each step is done while nothing else happens, then the next answer is waited for."""

    def __init__(self, file: str, *beside: str) -> None:
        self.steps: list[Callable[[], object]] = []
        self.idle = 0
        self.answers: Iterator[Reading | UnreadableError] = readings(file, self.pause, lambda: beside)

    def pause(self, seconds: float) -> None:
        if self.steps:
            self.steps.pop(0)()
            self.idle = 0
            return
        self.idle += 1
        if self.idle > 4 * PATIENCE / PAUSE:
            raise TimeoutError

    def answer(self, *steps: Callable[[], object]) -> str:
        """Places of the next harness, or what could not be read."""
        self.steps += steps
        given = next(self.answers)
        return str(given) if isinstance(given, UnreadableError) else " ".join(given.harness.places)

    def nothing(self, *steps: Callable[[], object]) -> bool:
        self.steps += steps
        with pytest.raises(TimeoutError):
            next(self.answers)
        return True


def save(name: str, text: str) -> Callable[[], object]:
    """Writes a file, at another time than it was written before."""

    def step() -> None:
        path = Path(name)
        then = path.stat().st_mtime_ns if path.exists() else 0
        path.write_text(text)
        os.utime(path, ns=(then + 10**9, then + 10**9))

    return step


@pytest.fixture
def workspace(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Desk:
    monkeypatch.chdir(tmp_path)
    save("bike.loom", 'place a\nuse "option.loom"\n')()
    save("option.loom", "place b\n")()
    return Desk("bike.loom")


def test_a_save_gives_an_answer(workspace: Desk) -> None:
    assert workspace.answer() == "a b"
    assert workspace.answer(save("bike.loom", 'place c\nuse "option.loom"\n')) == "c b"
    assert workspace.answer(save("option.loom", "place d\n")) == "c d"
    assert workspace.nothing()


def test_a_save_without_a_change_is_answered_too(workspace: Desk) -> None:
    assert workspace.answer() == "a b"
    assert workspace.answer(save("option.loom", "place b\n")) == "a b"


def test_a_file_used_later_is_watched_too(workspace: Desk) -> None:
    workspace.answer()
    assert workspace.answer(save("bike.loom", 'place a\nuse "more.loom"\n')) == "a"
    assert workspace.answer(save("more.loom", "place m\n")) == "a m", "it is missed no longer"
    assert workspace.answer(save("more.loom", "place n\n")) == "a n"


def test_other_files_of_the_folder_give_no_answer(workspace: Desk) -> None:
    workspace.answer()
    assert workspace.nothing(save(".bike.loom.swp", "x"), save("notes.txt", "y"), Path("notes.txt").unlink)


def test_an_editor_that_puts_a_new_file_in_its_place(workspace: Desk) -> None:
    workspace.answer()
    away = lambda: Path("bike.loom").rename("bike.loom~")  # noqa: E731
    assert workspace.answer(away, save("bike.loom", "place new\n")) == "new"
    beside = save("bike.new", "place newer\n")
    assert workspace.answer(beside, lambda: Path("bike.new").replace("bike.loom")) == "newer"


def test_an_editor_that_empties_a_file_before_it_fills_it(workspace: Desk) -> None:
    workspace.answer()
    assert workspace.answer(save("bike.loom", ""), save("bike.loom", "place full\n")) == "full"


def test_a_file_that_is_gone_is_told_once_and_waited_for(workspace: Desk) -> None:
    workspace.answer()
    assert "there is no such file" in workspace.answer(Path("bike.loom").unlink)
    assert workspace.nothing()


def test_a_file_that_comes_back_late_is_read(workspace: Desk) -> None:
    workspace.answer()
    assert "there is no such file" in workspace.answer(Path("bike.loom").unlink)
    assert workspace.answer(save("bike.loom", "place back\n")) == "back"


def test_a_file_that_is_not_there_yet(tmp_path: Path) -> None:
    workspace = Desk(str(tmp_path / "new.loom"))
    assert "there is no such file" in workspace.answer()
    assert workspace.answer(save(str(tmp_path / "new.loom"), "place a\n")) == "a"


def test_the_harness_that_is_replaced_is_watched(workspace: Desk) -> None:
    save("old.loom", "place old\n")()
    save("bike.loom", 'place a\nconverts "old.loom"\n')()
    assert workspace.answer() == "a"
    assert workspace.answer(save("old.loom", "place older\n")) == "a"


def test_a_used_file_that_appears_in_a_folder_that_appears(workspace: Desk) -> None:
    workspace.answer()
    assert workspace.answer(save("bike.loom", 'place a\nuse "new/more.loom"\n')) == "a"
    assert workspace.answer(lambda: Path("new").mkdir(), save("new/more.loom", "place m\n")) == "a m"


def test_what_decides_how_it_is_judged_is_watched(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    save("bike.loom", "place a\n")()
    workspace = Desk("bike.loom", "loomwright.toml")
    assert workspace.answer() == "a"
    assert workspace.answer(save("loomwright.toml", "")) == "a", "it appears"
    assert workspace.answer(save("loomwright.toml", 'fail-on = "error"')) == "a"
    assert workspace.answer(Path("loomwright.toml").unlink) == "a", "it is gone"
    assert workspace.nothing()


def test_mistakes_are_answers_too(workspace: Desk) -> None:
    workspace.answer()
    workspace.steps.append(save("bike.loom", "plaec a\n"))
    given = next(workspace.answers)
    assert isinstance(given, Reading)
    assert given.mistakes
