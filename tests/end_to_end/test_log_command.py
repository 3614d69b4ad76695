"""``loomwright log``: the build log as one file, whole or not at all."""

from __future__ import annotations

import base64
import io
import re
import sys
from pathlib import Path

import log_pictures
import pytest
from click.testing import CliRunner, Result
from PIL import Image

from loomwright.cli import main

SPECS = Path(__file__).parents[2] / "specs"
BIKE = 'loom "A & B"\nplace tray\nsource BAT battery at tray { voltage 12 V }\n'


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, ["log", *map(str, arguments)])


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    Path("bike.loom").write_text(BIKE, "utf-8")
    return tmp_path


def test_the_log_is_written_beside_its_harness(here: Path) -> None:
    Path("log.md").write_text("# First day\n", "utf-8")
    done = run("bike.loom")
    assert (done.exit_code, done.output) == (0, "bike-log.html\n")
    html = Path("bike-log.html").read_text("utf-8")
    assert "<title>A &amp; B: build log</title>" in html
    assert "First day</h2>" in html
    again = run("bike.loom", "-o", "pages/x.html")
    assert again.exit_code == 0
    assert Path("pages/x.html").read_text("utf-8") == html


def test_another_log_can_be_named(here: Path) -> None:
    Path("notes").mkdir()
    Path("notes/old.md").write_text("# Old\n", "utf-8")
    assert run("bike.loom", "--log", "notes/old.md").exit_code == 0
    assert "Old</h2>" in Path("bike-log.html").read_text("utf-8")


def test_errors_in_a_log_are_told_with_their_place_and_nothing_is_written(here: Path) -> None:
    Path("log.md").write_text("# Log\n\nsee ![it](../x.png)\n\n```loomwright fly\n```\n", "utf-8")
    Path("bike-log.html").write_text("older", "utf-8")
    done = run("bike.loom")
    assert done.exit_code == 1
    assert done.stdout == ""
    assert done.stderr == (
        "log.md:3:11: error: `../x.png` cannot be shown: it is outside the folder of the log [log-picture]\n"
        "    see ![it](../x.png)\n"
        "              ^^^^^^^^\n"
        "    expected: a photograph in the folder of the log, or below it, named as seen from there\n"
        "log.md:5:1: error: a log has no command 'fly' [log-fence]\n"
        "    ```loomwright fly\n"
        "    ^^^^^^^^^^^^^^^^^\n"
        "    expected: one of draw, states, trace, compare\n"
        "log.md: 2 errors; fix the errors in the log first\n"
    )
    assert Path("bike-log.html").read_text("utf-8") == "older"


def test_without_a_log_it_says_where_one_would_be(here: Path) -> None:
    done = run("bike.loom")
    assert done.exit_code == 2
    assert "bike.loom has no log: write one in log.md or bike-log.md beside it, or name it with --log" in done.stderr
    done = run("bike.loom", "--log", "none.md")
    assert (done.exit_code, "cannot read none.md: there is no such file" in done.stderr) == (2, True)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [(("-",), "name that file, not -"), (("bike.loom", "-o", "bike.loom"), "expected one of html")],
)
def test_what_cannot_be_meant_is_refused(here: Path, arguments: tuple[str, ...], said: str) -> None:
    Path("log.md").write_text("# Log\n", "utf-8")
    done = run(*arguments)
    assert done.exit_code == 2
    assert said in done.stderr
    assert Path("bike.loom").read_text("utf-8") == BIKE


def test_errors_in_the_harness_come_first(here: Path) -> None:
    Path("log.md").write_text("# Log\n", "utf-8")
    Path("bike.loom").write_text(f"{BIKE}wire 1 BAT.+ to NONE.1 red\n", "utf-8")
    done = run("bike.loom")
    assert done.exit_code == 1
    assert "unknown-part" in done.stderr


def test_photographs_without_pillow_say_what_to_install(here: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    Path("log.md").write_text("![x](x.png)\n", "utf-8")
    Path("x.png").write_bytes(b"x")
    monkeypatch.setitem(sys.modules, "PIL", None)
    done = run("bike.loom")
    assert done.exit_code == 1
    assert "photographs need Pillow, which is not installed" in done.stderr
    assert "python -m pip install 'loomwright[log]'" in done.stderr


def test_the_demonstration_has_a_log_with_all_that_a_log_can_hold(tmp_path: Path) -> None:
    done = run(SPECS / "rebuild.loom", "-o", tmp_path / "log.html")
    assert done.exit_code == 0, done.output
    html = (tmp_path / "log.html").read_text("utf-8")
    kinds = re.findall(r'<img src="data:image/([a-z+]+);', html)
    assert kinds == ["png", "svg+xml", "png", "png", *["svg+xml"] * 3]
    for command in ("draw --system charging", "trace COIL-LEFT", "states --state idling", "states --bars", "compare"):
        assert f"<code>loomwright {command}" in html
    assert len(html) < 400_000


def test_the_pictures_of_the_demonstration_are_drawn_by_their_script() -> None:
    """By pixels: another version of the encoder may pack the same ones differently."""
    drawn = log_pictures.pictures()
    assert sorted(drawn) == sorted(path.name for path in (SPECS / "rebuild-log").iterdir())
    for name, data in drawn.items():
        kept = Image.open(SPECS / "rebuild-log" / name).convert("RGB")
        assert kept.tobytes() == Image.open(io.BytesIO(data)).convert("RGB").tobytes(), name


def test_its_style_is_the_one_that_its_policy_names(here: Path) -> None:
    import hashlib

    Path("log.md").write_text("# Log\n", "utf-8")
    run("bike.loom")
    html = Path("bike-log.html").read_text("utf-8")
    style = re.search("<style>(.*?)</style>", html, re.DOTALL)
    assert style is not None
    digest = base64.b64encode(hashlib.sha256(style[1].encode()).digest()).decode()
    assert (
        f"default-src 'none'; style-src 'sha256-{digest}'; img-src data:; base-uri 'none'; form-action 'none'" in html
    )
    assert "url(" not in style[1]
    assert "@import" not in style[1]
