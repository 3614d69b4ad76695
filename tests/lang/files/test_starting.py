"""A first harness: clean, tidy, and never in the place of another file."""

from __future__ import annotations

import tomllib
from datetime import date
from pathlib import Path

import pytest

from loomwright.checks.runner.run import check
from loomwright.lang.editing.formatter import tidy
from loomwright.lang.files.reading import read_file
from loomwright.lang.files.starting import FIRST, REPOSITORY, start, start_repository


@pytest.mark.parametrize(
    ("name", "file", "title"),
    [("my twin", "my twin.loom", "my twin"), ("a.loom", "a.loom", "a"), ("b/c", "b/c.loom", "c"), ("ü", "ü.loom", "ü")],
)
def test_it_starts_a_harness(name: str, file: str, title: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "b").mkdir()
    assert start(name) == file
    reading = read_file(file)
    assert reading.mistakes == ()
    assert reading.harness.title == title
    report = check(reading, today=date(2026, 1, 1))
    assert [finding.message for finding in report.findings] == []
    assert report.unchecked == ""


def test_it_is_tidy_and_shows_every_first_thing() -> None:
    text = FIRST.read_text(encoding="utf-8")
    assert tidy(text) == text
    words = {line.split()[0] for line in text.splitlines() if line and not line.startswith(("#", " ", "}"))}
    assert words >= {"loom", "system", "place", "route", "source", "ground", "fuse", "switch", "load", "wire", "expect"}
    assert "safe" in text


def test_it_never_writes_over_a_file(tmp_path: Path) -> None:
    mine = tmp_path / "bike.loom"
    mine.write_text("mine")
    link = tmp_path / "link.loom"
    link.symlink_to("nowhere")
    for name in ("bike", "bike.loom", "link"):
        with pytest.raises(FileExistsError):
            start(str(tmp_path / name))
    assert mine.read_text() == "mine"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["bike.loom", "link.loom"]


def test_a_repository_is_written_whole_or_not_at_all(tmp_path: Path) -> None:
    folder = tmp_path / "my twin"
    files = start_repository(str(folder), "1.2.3")
    assert [Path(file).relative_to(folder).as_posix() for file in files] == ["my twin.loom", *REPOSITORY]
    assert (
        "loomwright[embedded] @ git+https://example.org/loomwright@v1.2.3\n"
        in (folder / "requirements.txt").read_text()
    )
    assert '"my twin.loom"' in (folder / ".github/workflows/harness.yml").read_text()
    assert tomllib.loads((folder / "loomwright.toml").read_text())["accepted"] == "accepted.json"

    (tmp_path / "old").mkdir()
    (tmp_path / "old" / "loomwright.toml").write_text("mine")
    with pytest.raises(FileExistsError) as refused:
        start_repository(str(tmp_path / "old"), "1.2.3")
    assert str(refused.value.filename).endswith("loomwright.toml")
    assert [path.name for path in (tmp_path / "old").iterdir()] == ["loomwright.toml"]


@pytest.mark.parametrize("name", ['a"b', "a\nb", "a\x00b", "", ".loom", "\x1b[1m"])
def test_a_name_that_cannot_be_a_title(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    with pytest.raises(ValueError, match="such as my-twin"):
        start(name)
    assert list(tmp_path.iterdir()) == []


def test_beams_changed_over_are_found_from_the_start(tmp_path: Path) -> None:
    text = FIRST.read_text(encoding="utf-8")
    crossed = text.replace("DIP.56b to HEAD.56b", "DIP.56b to HEAD.main").replace("56a to HEAD.56a", "56a to HEAD.56b")
    crossed = crossed.replace("HEAD.main blue", "HEAD.56a blue")
    (tmp_path / "bike.loom").write_text(crossed)
    found = check(read_file(str(tmp_path / "bike.loom")), today=date(2026, 1, 1)).findings
    assert {finding.rule for finding in found} == {"unmet-expectation"}
    assert any(f.message.startswith("HEAD.main is expected dead and is live (KEY on and DIP low)") for f in found)
