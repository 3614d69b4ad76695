"""Files that nobody means well with: a clear error or a stated limit, in a short time, and nothing else happens."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable
from datetime import date
from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner, Result
from hostile_texts import HEAD, MARKUP, labelled, relays_in_a_ring, switches_in_a_ladder, switches_in_series

import loomwright.cli
from loomwright.checks.runner.run import Report, check
from loomwright.cli import main
from loomwright.lang.files.reading import read_text

PATIENCE = 20.0
"""Seconds of the processor for the largest of them, on any machine; a slow answer is no hang, and none is near it."""


def run(*arguments: str, data: bytes | None = None) -> Result:
    """The command line, with an answer in time and no traceback."""
    start = time.process_time()
    result = CliRunner().invoke(main, arguments, input=data, catch_exceptions=False)
    assert time.process_time() - start < PATIENCE
    assert "Traceback" not in result.output
    return result


SPREAD: dict[str, tuple[bytes, str]] = {
    "one line of 10 MB": (b"wire 1 " + b"A.1 " * 2_500_000, "long-line"),
    "a string of 10 MB": (b'loom "' + b"x" * 10_000_000 + b'"', "long-line"),
    "100,000 braces in a line": (b"{" * 100_000, "long-line"),
    "5,000 braces in a line": (b"load A at tray " + b"{" * 5_000, "nested-block"),
    "2,000 braces in lines": (b"load A at tray {\n" * 2_000, "unclosed-brace"),
    "5,000 brackets": (b"expect whenever " + b"(" * 5_000 + b"A on", "too-deep"),
    "5,000 times not": (b"expect whenever " + b"not " * 2_000 + b"A on: B live", "unexpected-word"),
    "NUL bytes": (b"place \x00tray\n" * 500, "control-character"),
    "nothing but NUL": (b"\x00" * 100_000, "long-line"),
    "no UTF-8": (b"place \xff\xfe\xfd\n" * 500, "not-utf-8"),
    "UTF-16": ('loom "bike"\nplace tray\n'.encode("utf-16"), "not-utf-8"),
    "overlong UTF-8": (b"place \xc0\xaf\xc0\xaf\n", "not-utf-8"),
    "a number beyond all": (b"fuse F 1e400 A\nfuse G " + b"9" * 400 + b" A\n", "bad-number"),
    "letters that turn text round": ("fuse F 5 A \u202e \u2066x\n".encode(), "control-character"),
    "10,000 mistakes": (b"wrie 1\n" * 2_000, "unknown-statement"),
    "combining letters": (b"place a" + b"\xcc\x81" * 4_000, "stray-character"),
}


@pytest.mark.parametrize("name", SPREAD)
def test_a_hostile_text_is_a_mistake(name: str) -> None:
    data, kind = SPREAD[name]
    result = run("check", "-", data=data)
    assert result.exit_code == 1
    assert f"[{kind}]" in result.stdout
    assert "not checked" in result.stdout.splitlines()[-1]
    tidied = run("tidy", "-", data=data)
    if len(data) > 2_000_000:
        assert tidied.exit_code == 2
        assert "more than 2 million characters are no harness" in tidied.stderr
    else:
        assert tidied.exit_code == 0


def test_a_file_beyond_all_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "huge.loom"
    with path.open("wb") as stream:
        stream.truncate(100_000_000)
    result = run("check", str(path))
    assert result.exit_code == 2
    assert "more than 64 mb" in result.stderr.lower()


def report_of(text: str) -> tuple[Report, float]:
    reading = read_text(text)
    assert reading.mistakes == ()
    start = time.process_time()
    return check(reading, today=date(2026, 1, 1)), time.process_time() - start


@pytest.mark.parametrize(
    ("make", "count"), [(switches_in_series, 60), (switches_in_a_ladder, 60), (relays_in_a_ring, 500)]
)
def test_more_combinations_than_anybody_can_go_through_are_said_to_be_so(
    make: Callable[[int], str], count: int
) -> None:
    report, spent = report_of(make(count))
    assert spent < PATIENCE
    undecided = [each for each in report.findings if "more than are searched" in each.message]
    assert any(each.rule == "undecided-path" for each in undecided), "what was asked for is answered"
    assert not any(finding.outcome == "broken-down" for finding in report.findings)


@pytest.mark.parametrize(
    ("make", "count"), [(switches_in_series, 12), (switches_in_a_ladder, 12), (relays_in_a_ring, 8)]
)
def test_a_few_of_them_are_decided(make: Callable[[int], str], count: int) -> None:
    """The limit is far away from what a motorcycle has: the same shapes, of its size, leave nothing open."""
    report, _ = report_of(make(count))
    assert not any("are searched" in finding.message for finding in report.findings)
    assert report.unchecked == ""


# --- files that use others --------------------------------------------------------------------------------------------
@pytest.fixture
def room(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a secret beside it."""
    (tmp_path / "secret.loom").write_text("place SECRET-PLACE\nroute SECRET-PLACE SECRET-PLACE 1 m\n")
    (tmp_path / "room").mkdir()
    monkeypatch.chdir(tmp_path / "room")
    Path("inside.loom").write_text("place inside\n")
    return tmp_path


def uses(name: str) -> Result:
    Path("bike.loom").write_text(f'loom "x"\nuse "{name}"\n')
    return run("check", "bike.loom")


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("../secret.loom", "outside-use"),
        ("../../../../../../etc/passwd", "outside-use"),
        ("/etc/passwd", "outside-use"),
        ("room/../../secret.loom", "outside-use"),
        ("link.loom", "outside-use"),
        ("folder/secret.loom", "outside-use"),
        ("round.loom", "unreadable-use"),
        ("pipe.loom", "unreadable-use"),
        ("gone.loom", "unreadable-use"),
        (".", "unreadable-use"),
        ("bike.loom", "use-cycle"),
        ("./bike.loom", "use-cycle"),
        ("again.loom", "use-cycle"),
        ("file:///etc/passwd", "unreadable-use"),
        ("http://example.org/x.loom", "unreadable-use"),
        ("~/.ssh/id", "unreadable-use"),
        ("$HOME/x", "unreadable-use"),
        ("|id", "unreadable-use"),
        ("x" * 3000, "unreadable-use"),
    ],
)
def test_a_use_line_reads_nothing_that_it_may_not(name: str, kind: str, room: Path) -> None:
    Path("link.loom").symlink_to("../secret.loom")
    Path("folder").symlink_to("..")
    Path("round.loom").symlink_to("round.loom")
    Path("again.loom").symlink_to("bike.loom")
    os.mkfifo("pipe.loom")
    result = uses(name)
    assert result.exit_code == 1
    assert f"[{kind}]" in result.stdout
    assert "SECRET" not in result.output
    assert "root:" not in result.output


def test_files_that_use_each_other_in_a_long_circle(room: Path) -> None:
    for number in range(300):
        Path(f"f{number}.loom").write_text(f'use "f{(number + 1) % 300}.loom"\nplace p{number}\n')
    result = uses("f0.loom")
    assert result.exit_code == 1
    assert "[use-cycle]" in result.stdout


def test_files_that_use_many_others_are_read_once_each(room: Path) -> None:
    """Two files a step, each of which uses both of the next: 2^20 ways, 40 files."""
    for step in range(20):
        for side in "ab":
            lines = "".join(f'use "{step + 1}{other}.loom"\n' for other in "ab") if step < 19 else ""
            Path(f"{step}{side}.loom").write_text(f"{lines}place p{step}{side}\n")
    Path("bike.loom").write_text('loom "x"\nuse "0a.loom"\nuse "0b.loom"\n')
    result = run("check", "bike.loom", "--format", "json")
    assert json.loads(result.stdout)["harnesses"][0]["mistakes"] == []


# --- texts that others would obey -------------------------------------------------------------------------------------
@pytest.mark.parametrize("text", MARKUP)
def test_what_is_written_is_only_ever_text(text: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    said = text.replace('"', "'")
    Path("bike.loom").write_text(labelled(text), encoding="utf-8")
    formats = ("json", "sarif", "junit", "github", "gitlab", "text")
    shown = {name: run("check", "bike.loom", "--show-waived", "--format", name).stdout for name in formats}
    assert json.loads(shown["json"])["harnesses"][0]["title"] == said
    json.loads(shown["sarif"])
    json.loads(shown["gitlab"])
    assert "<!DOCTYPE" not in shown["junit"]
    suite = ElementTree.fromstring(shown["junit"])
    assert {element.tag for element in suite.iter()} <= {"testsuites", "testsuite", "testcase", "failure", "system-out"}
    assert all(
        line.startswith(("::error file=", "::warning file=", "::notice file=")) for line in shown["github"].splitlines()
    )
    assert run("tidy", "bike.loom").exit_code == 0
    assert Path("bike.loom").read_text(encoding="utf-8") == labelled(text)
    assert [path.name for path in tmp_path.iterdir()] == ["bike.loom"]


NAMES = ["-rf", "--help", "$(touch owned).loom", "a;touch owned.loom", "<b>.loom", "%0Aowned.loom", "::error::.loom"]


@pytest.mark.parametrize("name", NAMES)
def test_a_file_may_have_any_name(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path(name).write_text(HEAD + "fuse 30A\n")
    for format_ in ("text", "json", "sarif", "junit", "github", "gitlab"):
        result = run("check", "--format", format_, "--", name)
        assert result.exit_code == 1
        if format_ == "junit":
            ElementTree.fromstring(result.stdout)
        if format_ == "github":
            assert len(result.stdout.splitlines()) == 1
    assert run("tidy", "--", name).exit_code == 0
    assert [path.name for path in tmp_path.iterdir()] == [name]


@pytest.mark.parametrize(
    ("arguments", "settings"),
    [
        (("check", "\x1b[31mgone.loom"), ""),
        (("draw", "bike.loom", "-o", "\x1b[31m.txt"), ""),
        (("check", "bike.loom", "--profile", "\x1b[31m.toml"), ""),
        (("\x1b[31m",), ""),
        (("check", "bike.loom"), '"\\u001b[31mkey" = 1\n'),
        (("check", "bike.loom"), 'profile = "\\u001b[31m"\n'),
        (("new", "\x1b[31m"), ""),
        (("suspect", "bike.loom", "--state", "\x1b[31m", "--seen", "x"), ""),
    ],
)
def test_no_name_reaches_the_terminal_as_a_command(
    arguments: tuple[str, ...], settings: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("bike.loom").write_text(HEAD)
    if settings:
        Path("loomwright.toml").write_text(settings)
    result = CliRunner().invoke(main, arguments, catch_exceptions=False, color=True)
    assert result.exit_code == 2
    assert "31m" in result.output
    assert "\x1b" not in result.output


# --- what the process does --------------------------------------------------------------------------------------------
WATCHED = """\
import json, sys
seen = []
def note(event, arguments):
    if event.split(".")[0] in ("open", "os", "shutil", "tempfile", "socket", "subprocess", "pty", "ctypes", "urllib"):
        seen.append((event, str(arguments[0]) if arguments else ""))
import numpy  # what numeric libraries do when they are loaded is not asked here
from loomwright.cli import main
sys.addaudithook(note)
try:
    main(sys.argv[1:])
except SystemExit:
    pass
finally:
    print(json.dumps(seen), file=sys.stderr)
"""


MAY = ("open", "os.listdir", "os.scandir")
MAY_TIDY = (*MAY, "os.rename", "os.remove", "os.chmod", "os.chown", "tempfile.mkstemp")
SOUND = labelled("$(touch owned)")
WRONG = (
    "".join(f'use "{name}"\n' for name in ("inside.loom", "../secret.loom", "/etc/passwd", "gone.loom"))
    + "use lamps\nuse nothing\n"
    + labelled("http://example.org/").replace('loom "', 'converts "')
    + "".join(f"wire  w{number} {text}\n" for number, text in enumerate(MARKUP))
)


@pytest.mark.parametrize("command", [["check"], ["check", "--format", "sarif"], ["tidy"], ["tidy", "--diff"]])
@pytest.mark.parametrize("text", [SOUND, WRONG], ids=["sound", "wrong"])
def test_a_harness_runs_nothing_and_reads_only_what_it_may(command: list[str], text: str, room: Path) -> None:
    """Seen by the interpreter's own audit hooks (PEP 578): no process, no connection, no file but those named."""
    here = room / "room"
    Path("bike.loom").write_text(text.replace(" to ", "  to "))
    done = subprocess.run(
        [sys.executable, "-c", WATCHED, *command, "bike.loom"], capture_output=True, text=True, check=False
    )
    seen = json.loads(done.stderr.splitlines()[-1])
    library = (sys.prefix, sys.base_prefix, str(Path(loomwright.cli.__file__).parent))
    for event, name in seen:
        assert event in (MAY_TIDY if command == ["tidy"] else MAY), (event, name)
        allowed = str((here / name).parent) in (str(here), str(here.parent)) and Path(name).name in (
            "bike.loom",
            "inside.loom",
            "gone.loom",
            "room",
        )
        ours = allowed or Path(name).name.startswith(".bike.loom.") or name.isdigit()
        assert ours or name.startswith(library), (event, name)
    assert {Path(name).name for _, name in seen} >= ({"bike.loom"} if text == SOUND else {"bike.loom", "inside.loom"})
    assert sorted(path.name for path in here.iterdir()) == ["bike.loom", "inside.loom"]
