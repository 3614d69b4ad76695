"""The command line from outside: what it prints, where, and how it exits, for good input and bad."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules

import click
import pytest
from click.testing import CliRunner, Result
from hypothesis import example, given, settings
from hypothesis import strategies as st

from loomwright import __version__
from loomwright.checks.runner.run import catalogue
from loomwright.cli import main
from loomwright.render import commands

GOOD = """\
loom "one lamp"
system 12 V negative ground
place tray, tail
route tray tail 0.6 m
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray, tail
"""
BAD = GOOD + "wire 1 BAT.+ to NOWHERE.1 red 2.5 mm2\nfuse MAIN 30A at tray\n"


def run(*arguments: str, text: str | bytes | None = None, **environment: str) -> Result:
    """The command line in this process. An exception that is no exit is a failure of the test."""
    result = CliRunner().invoke(main, arguments, input=text, env=environment, catch_exceptions=False)
    assert "Traceback" not in result.output
    return result


def outside(*arguments: str, **environment: str) -> subprocess.CompletedProcess[bytes]:
    """The command line in a separate process, as a shell starts it."""
    return subprocess.run(
        [sys.executable, "-m", "loomwright", *arguments],
        capture_output=True,
        env={**os.environ, **environment},
        check=False,
    )


@pytest.fixture
def good(tmp_path: Path) -> str:
    (tmp_path / "good.loom").write_text(GOOD)
    return str(tmp_path / "good.loom")


@pytest.fixture
def bad(tmp_path: Path) -> str:
    (tmp_path / "bad.loom").write_text(BAD)
    return str(tmp_path / "bad.loom")


def test_version() -> None:
    assert run("--version").output == f"loomwright {__version__}\n"


def test_every_file_of_a_command_is_in_the_group_and_bears_its_name() -> None:
    modules = {
        found.name: import_module(f"{commands.__name__}.{found.name}") for found in iter_modules(commands.__path__)
    }
    theirs = {name: getattr(module, name, None) for name, module in modules.items()}
    assert {name for name, command in theirs.items() if isinstance(command, click.Command)} == set(main.commands)
    assert list(main.commands) == sorted(main.commands)
    assert all(command.name == name for name, command in main.commands.items())


@pytest.mark.parametrize("command", [[], *([name] for name in main.commands)])
def test_every_command_has_help(command: list[str]) -> None:
    for flag in ("-h", "--help"):
        result = run(*command, flag)
        assert result.exit_code == 0
        assert result.output.startswith("Usage: ")


@pytest.mark.parametrize(
    "arguments",
    [
        ["no-such-command"],
        ["check"],
        ["check", "--no-such-option", "x.loom"],
        ["check", "--format", "poem", "x.loom"],
        ["check", "--fail-on", "rain", "x.loom"],
        ["check", "--today", "tomorrow", "x.loom"],
        ["check", "-", "-"],
        ["check", "--stdin-filename", "a.loom", "x.loom"],
        ["check", "--profile", "no-such-profile", "-"],
        ["explain"],
        ["explain", "no-such-rule"],
        ["draw"],
        ["trace"],
        ["trace", "-"],
    ],
)
def test_a_wrong_command_line_exits_2(arguments: list[str]) -> None:
    result = run(*arguments, text=GOOD)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert "Error: " in result.stderr


def test_a_file_that_cannot_be_read_exits_2(tmp_path: Path) -> None:
    for file, reason in ((tmp_path / "gone.loom", "there is no such file"), (tmp_path, "this is a folder")):
        for command in (["check"], ["draw", "--into", str(tmp_path / "out")], ["trace"]):
            result = run(*command, str(file), *(["BAT"] if command == ["trace"] else []))
            assert result.exit_code == 2
            assert result.stdout == ""
            assert result.stderr.startswith(f"loomwright: cannot read {file}: {reason}")


def test_bytes_that_are_no_text_are_mistakes_where_they_stand(tmp_path: Path) -> None:
    latin = tmp_path / "latin.loom"
    latin.write_bytes(GOOD.encode() + 'load L1 lamp at tail "Rück"\n'.encode("latin-1"))
    result = run("check", str(latin))
    assert result.exit_code == 1
    assert f"{latin}:7:24: error: " in result.stdout
    assert run("check", "-", "--stdin-filename", str(latin), text=latin.read_bytes()).stdout == result.stdout


def test_one_unreadable_file_does_not_hide_the_others(bad: str, tmp_path: Path) -> None:
    result = run("check", str(tmp_path / "gone.loom"), bad)
    assert result.exit_code == 2
    assert "cannot read" in result.stderr
    assert "NOWHERE" in result.stdout


def test_mistakes_exit_1_and_are_all_reported(bad: str) -> None:
    result = run("check", bad)
    assert result.exit_code == 1
    for line in (7, 8):
        assert re.search(rf"^{re.escape(bad)}:{line}:\d+: error: .+ \[[a-z-]+\]$", result.stdout, re.MULTILINE)
    assert "NOWHERE" in result.stdout
    assert "    fuse MAIN 30A at tray\n" in result.stdout
    assert re.search(r"^ +\^+$", result.stdout, re.MULTILINE)
    assert "not checked" in result.stdout.splitlines()[-1]


def test_mistakes_exit_1_at_every_level(bad: str) -> None:
    for level in ("error", "warning", "note"):
        assert run("check", "--fail-on", level, bad).exit_code == 1


def test_a_sound_text_exits_0_at_the_level_of_errors(good: str) -> None:
    result = run("check", "--fail-on", "error", good)
    assert result.exit_code == 0, result.output
    assert result.stderr == ""


def test_standard_input(bad: str) -> None:
    named = run("check", "-", "--stdin-filename", bad, text=BAD)
    assert named.exit_code == 1
    assert named.stdout == run("check", bad).stdout
    assert run("check", "-", text=BAD).stdout == named.stdout.replace(bad, "<stdin>")


@pytest.mark.parametrize("format_", ["json", "sarif", "junit", "github", "gitlab"])
def test_machine_formats_tell_of_the_same_mistakes(format_: str, bad: str) -> None:
    result = run("check", "--format", format_, bad, FORCE_COLOR="1")
    assert result.exit_code == 1
    assert result.stdout.isascii() or format_ == "junit"
    assert "NOWHERE" in result.stdout
    assert "\x1b" not in result.stdout


def test_json_counts(bad: str, good: str) -> None:
    document = json.loads(run("check", "--format", "json", good, bad).stdout)
    assert [harness["file"] for harness in document["harnesses"]] == [good, bad]
    assert document["harnesses"][1]["counts"]["mistake"] == 2
    assert document["harnesses"][1]["unchecked"]


def test_colours_go_to_a_terminal_only(bad: str) -> None:
    assert b"\x1b[" not in outside("check", bad).stdout
    assert b"\x1b[" in outside("check", bad, FORCE_COLOR="1").stdout
    assert b"\x1b[" not in outside("check", bad, FORCE_COLOR="1", NO_COLOR="1").stdout


def test_the_same_input_gives_the_same_bytes(bad: str) -> None:
    first, second = (outside("check", bad, PYTHONHASHSEED=seed) for seed in ("1", "2"))
    assert (first.returncode, first.stdout, first.stderr) == (second.returncode, second.stdout, second.stderr)


def test_a_terminal_without_the_letters_still_gets_the_report(tmp_path: Path) -> None:
    (tmp_path / "ohm.loom").write_text('loom "a"\nresistor R1 48 Ωhm\n', encoding="utf-8")
    done = outside("check", str(tmp_path / "ohm.loom"), PYTHONIOENCODING="latin-1")
    assert done.returncode == 1
    assert b"\\u03a9" in done.stdout
    assert b"Traceback" not in done.stderr


def test_a_reader_who_leaves_is_no_fault(bad: str) -> None:
    with subprocess.Popen(
        [sys.executable, "-m", "loomwright", "check", *[bad] * 400], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as process:
        assert process.stdout is not None
        process.stdout.close()
        assert process.stderr is not None
        assert process.stderr.read() == b""
    assert process.returncode == 2


def test_a_fault_of_its_own_looks_like_no_finding(monkeypatch: pytest.MonkeyPatch, good: str) -> None:
    def broken(*_: object, **__: object) -> None:
        raise KeyError("a fault")

    monkeypatch.setattr("loomwright.checks.runner.run.check", broken)
    result = CliRunner().invoke(main, ["check", good])
    assert result.exit_code == 70
    assert "a fault of loomwright itself" in result.stderr


def test_an_interrupt_looks_like_no_finding(monkeypatch: pytest.MonkeyPatch, good: str) -> None:
    def interrupted(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("loomwright.checks.runner.run.check", interrupted)
    assert CliRunner().invoke(main, ["check", good]).exit_code == 130


def test_every_rule_is_listed_and_explained() -> None:
    listed = run("rules").stdout
    for rule in catalogue():
        assert re.search(rf"^    {rule.name} +{rule.level.word} ", listed, re.MULTILINE)
        for name in (rule.name, *rule.aliases):
            explained = run("explain", name)
            assert explained.exit_code == 0
            level = rf"({rule.level.word}|at most {rule.level.word} \(this example: \w+\))"
            assert re.match(rf"{rule.name}: {level}, {rule.family}\n", explained.stdout)


def test_an_unknown_rule_is_told_the_nearest() -> None:
    near = catalogue()[0].name
    assert f"near it: {near}" in run("explain", near[:-1]).stderr


LAMP = (
    GOOD
    + """\
fuse F1 10 A blade at tray
switch KEY 15 A key at tray { off: ; on: 1 2 }
load REAR lamp at tail { tail 5 W tail-lamp: 58 31 }
wire 1 BAT.+ to F1.1 red 1.5 mm2 0.1 m
wire 2 F1.2 to KEY.1 red 1.5 mm2 0.2 m
wire 3 KEY.2 to REAR.58 grey 1.5 mm2
wire 4 REAR.31 to FRAME black 1.5 mm2 0.1 m
wire 5 BAT.- to FRAME black 2.5 mm2 0.2 m
state lit { KEY on }
"""
)


@pytest.fixture
def lamp(tmp_path: Path) -> str:
    (tmp_path / "lamp.loom").write_text(LAMP)
    return str(tmp_path / "lamp.loom")


def test_trace(lamp: str) -> None:
    for arguments in ([], ["--in", "lit"], ["--with", "KEY on"], ["--with", " KEY  on , "]):
        result = run("trace", lamp, "REAR.tail", *arguments)
        assert result.exit_code == 0
        said = "with" if arguments else "when"
        assert result.stdout.splitlines()[0] == f"REAR.tail: live {said} KEY on"
        assert result.stdout.splitlines()[-1] == "    BAT.-"
    assert (
        run("trace", lamp, "REAR", "--with", "KEY off").stdout
        == "REAR.tail: not live in this setting; it is with KEY on\n"
    )
    assert run("trace", "-", "REAR", text=LAMP).stdout == run("trace", lamp, "REAR").stdout.replace(lamp, "<stdin>")


def test_trace_tells_the_whole_condition_and_a_way_for_each_setting_that_has_its_own(tmp_path: Path) -> None:
    two_ways = LAMP.replace("load REAR", "switch PARK 5 A { off: ; on: 1 2 }\nload REAR")
    two_ways += "wire P1 F1.2 to PARK.1 red 1 mm2 0.3 m\nwire P2 PARK.2 to REAR.58 red 1 mm2 0.3 m\n"
    (tmp_path / "two.loom").write_text(two_ways)
    lines = run("trace", str(tmp_path / "two.loom"), "REAR.tail").stdout.splitlines()
    assert lines[0] == "REAR.tail: live when KEY on; or PARK on"
    assert "    with KEY on:" in lines
    assert "    with PARK on:" in lines
    assert sum(line.split()[:2] == ["PARK", "1-2"] for line in lines) == 1


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["REER"], "named 'REER'; near it: REAR"),
        (["REAR", "--in", "lot"], "no state is named 'lot'; there is lit"),
        (["REAR", "--with", "KAY on"], "no control is named 'KAY'; there is KEY, engine"),
        (["REAR", "--with", "KEY open"], "no position of KEY is named 'open'; there is off, on"),
        (["REAR", "--with", "KEY"], "a control and its position, such as 'KEY on', not 'KEY'"),
        (["REAR", "--with", "KEY on", "--in", "lit"], "give one"),
        (["REAR", "--stdin-filename", "x"], "give - as FILE"),
    ],
)
def test_a_wrong_trace_tells_what_there_is(arguments: list[str], said: str, lamp: str) -> None:
    result = run("trace", lamp, *arguments)
    assert result.exit_code == 2
    assert said in result.stderr


def test_a_text_with_mistakes_is_neither_traced_nor_drawn(bad: str, tmp_path: Path) -> None:
    for command in (["trace", bad, "BAT"], ["draw", bad, "--into", str(tmp_path / "out")]):
        result = run(*command)
        assert result.exit_code == 1
        assert result.stdout == ""
        assert "NOWHERE" in result.stderr
    assert not (tmp_path / "out").exists()


def test_draw_tells_where_the_drawings_are(lamp: str, tmp_path: Path) -> None:
    folder = tmp_path / "a" / "b"
    result = run("draw", lamp, "--into", str(folder), "--format", "svg", "--format", "png", "--format", "pdf")
    assert result.exit_code == 0, result.stderr
    drawings = [folder / f"lamp.{ending}" for ending in ("svg", "png", "pdf")]
    assert result.stdout.splitlines() == [str(path) for path in drawings]
    for path, start in zip(drawings, (b"<", b"\x89PNG", b"%PDF"), strict=True):
        assert path.read_bytes().startswith(start)


@pytest.mark.parametrize("ending", ["svg", "png", "pdf"])
def test_draw_one_drawing_where_it_is_asked_for(lamp: str, tmp_path: Path, ending: str) -> None:
    target = tmp_path / "sheets" / f"my lamp.{ending}"
    assert run("draw", lamp, "-o", str(target)).stdout.splitlines() == [str(target)]
    assert target.stat().st_size > 1000
    assert run("draw", lamp, "-o", str(tmp_path / "lamp.txt")).exit_code == 2
    assert run("draw", lamp, lamp, "-o", str(target)).exit_code == 2


def test_draw_a_sheet_for_each_system(root: Path, tmp_path: Path) -> None:
    stock = str(root / "specs" / "stock.loom")
    result = run("draw", stock, "--into", str(tmp_path), "--system", "lighting", "--system", "ignition")
    assert result.exit_code == 0, result.stderr
    assert result.stdout.splitlines() == [str(tmp_path / f"stock-{name}.svg") for name in ("lighting", "ignition")]
    lighting, ignition = (Path(line).read_text(encoding="utf-8") for line in result.stdout.splitlines())
    assert "DIP" in lighting
    assert "DIP" not in ignition
    wrong = run("draw", stock, "--into", str(tmp_path), "--system", "lightning")
    assert wrong.exit_code == 2
    assert "Did you mean `lighting`?" in wrong.stderr


def test_draw_says_what_it_cannot_write(lamp: str, tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("")
    result = run("draw", lamp, "--into", str(tmp_path / "taken"))
    assert result.exit_code == 2
    assert result.stderr == f"loomwright: {tmp_path / 'taken'}: cannot be written: file exists\n"
    assert run("draw", lamp, lamp, "--into", str(tmp_path)).exit_code == 2


def test_draw_without_an_engine_says_what_to_install(
    lamp: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("shutil.which", lambda *_, **__: None)
    result = run("draw", lamp, "--into", str(tmp_path))
    assert result.exit_code == 2
    assert "loomwright[embedded]" in result.stderr


# What a hand slips into a file: pieces of the language, cut and glued anyhow, and bytes that mean nothing.
segments = st.sampled_from(
    [
        *GOOD.split("\n"),
        *BAD.split(),
        "{",
        "}",
        ";",
        ":",
        '"',
        "#",
        "\t",
        "\ufeff",
        "\r",
        "\x00",
        "\u00a0",
        "use x",
        "µF",
    ]
)
messes = st.one_of(
    st.binary(max_size=200),
    st.text(max_size=200).map(lambda text: text.encode("utf-8", "surrogatepass")),
    st.lists(segments, max_size=30).map(lambda words: " ".join(words).encode()),
    st.lists(segments, max_size=30).map(lambda words: "\n".join(words).encode()),
)


@given(messes)
@example(b"")
@example(b"\x00")
@example(b"{" * 2000)
@example(b"not " * 5000)
@example(b"expect whenever " + b"(" * 5000)
@settings(max_examples=100)
def test_no_input_ends_in_a_traceback(data: bytes) -> None:
    for format_ in ("text", "json"):
        result = CliRunner().invoke(main, ["check", "--format", format_, "-"], input=data, catch_exceptions=False)
        assert result.exit_code in (0, 1)
        assert result.stderr == ""


@given(
    st.lists(
        st.text(st.characters(exclude_characters="\0"), max_size=12)
        | st.sampled_from(["check", "rules", "-", "--format", "json", "--", "-h"]),
        max_size=5,
    )
)
@settings(max_examples=100)
def test_no_command_line_ends_in_a_traceback(arguments: list[str]) -> None:
    result = CliRunner().invoke(main, arguments, input=GOOD, catch_exceptions=False)
    assert result.exit_code in (0, 1, 2)
    assert "Traceback" not in result.output
