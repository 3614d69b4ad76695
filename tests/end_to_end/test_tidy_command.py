"""``loomwright tidy`` as it is used by hand, in hooks and in CI."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from loomwright.cli import main

UNTIDY = b"place  a ,b # where\r\nfuse F 30A\r\nwire 1  A.1 to B.1  0.5 m 2.5 mm\xc2\xb2 BK/WH\r\n"
TIDY = b"place a, b # where\r\nfuse F 30A\r\nwire 1 A.1 to B.1 black/white 2.5 mm2 0.5 m\r\n"


def run(*arguments: str, data: bytes | None = None) -> Result:
    result = CliRunner().invoke(main, ["tidy", *arguments], input=data, catch_exceptions=False)
    assert "Traceback" not in result.output
    return result


@pytest.fixture
def bike(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    Path("bike.loom").write_bytes(UNTIDY)
    return Path("bike.loom")


def test_it_tidies_and_says_so_once(bike: Path) -> None:
    first = run("bike.loom")
    assert (first.exit_code, first.stdout, first.stderr) == (0, "", "bike.loom: tidied\n")
    assert bike.read_bytes() == TIDY
    second = run("bike.loom")
    assert (second.exit_code, second.output) == (0, "")


def test_check_writes_nothing_and_exits_1(bike: Path) -> None:
    result = run("--check", "bike.loom")
    assert (result.exit_code, result.stdout) == (1, "bike.loom: would be tidied\n")
    assert bike.read_bytes() == UNTIDY
    bike.write_bytes(TIDY)
    result = run("--check", "bike.loom")
    assert (result.exit_code, result.output) == (0, "")


def test_diff_shows_one_line_for_one_change(bike: Path) -> None:
    for more in ((), ("--check",)):
        result = run("--diff", *more, "bike.loom")
        assert result.exit_code == 1
        assert [line for line in result.stdout.splitlines() if line.startswith(("-", "+"))] == [
            "--- bike.loom",
            "+++ bike.loom",
            "-place  a ,b # where",
            "+place a, b # where",
            "-wire 1  A.1 to B.1  0.5 m 2.5 mm² BK/WH",
            "+wire 1 A.1 to B.1 black/white 2.5 mm2 0.5 m",
        ]
        assert bike.read_bytes() == UNTIDY
    bike.write_bytes(TIDY)
    assert run("--diff", "bike.loom").exit_code == 0


def test_a_diff_obeys_no_file(bike: Path) -> None:
    """What a harness holds never reaches a terminal as a command."""
    bike.write_bytes(b"# \x1b]0;owned\x07\nplace  a\n")
    assert "\x1b" not in run("--diff", "bike.loom").output


def test_standard_input_goes_to_standard_output() -> None:
    result = run("-", data=UNTIDY)
    assert (result.exit_code, result.stdout_bytes) == (0, TIDY)
    assert result.stderr == ""
    assert run("-", data=TIDY).stdout_bytes == TIDY
    assert run("-", data=b"\xff  \xfe\nplace  a\n").stdout_bytes == b"\xff  \xfe\nplace a\n"
    checked = run("-", "--check", data=UNTIDY)
    assert (checked.exit_code, checked.stdout) == (1, "<stdin>: would be tidied\n")
    shown = run("-", "--diff", "--stdin-filename", "bike.loom", data=UNTIDY)
    assert shown.exit_code == 1
    assert shown.stdout.startswith("--- bike.loom\n+++ bike.loom\n")


def test_a_folder_stands_for_its_files(bike: Path) -> None:
    for name in ("more/option.loom", "more/deep/x.loom", ".hidden/y.loom", "more/notes.txt", "more/.z.loom"):
        Path(name).parent.mkdir(parents=True, exist_ok=True)
        Path(name).write_bytes(UNTIDY)
    result = run(".")
    assert result.stderr.splitlines() == [
        f"{name}: tidied" for name in ("bike.loom", "more/option.loom", "more/deep/x.loom")
    ]
    assert Path("more/notes.txt").read_bytes() == UNTIDY
    assert Path(".hidden/y.loom").read_bytes() == UNTIDY


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["gone.loom"], "loomwright: cannot read gone.loom: there is no such file"),
        (["."], "loomwright: cannot read .: this is a folder without a .loom file"),
        ([], "Missing argument"),
        (["-", "-"], "standard input can be read once"),
        (["x.loom", "--stdin-filename", "y.loom"], "give - as a FILE"),
        (["--no-such-option", "x.loom"], "No such option"),
    ],
)
def test_what_cannot_be_done_exits_2(
    arguments: list[str], says: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    result = run(*arguments, data=b"")
    assert result.exit_code == 2
    assert says in result.stderr
    assert result.stdout == ""


def test_one_file_that_cannot_be_read_does_not_hide_the_others(bike: Path) -> None:
    result = run("gone.loom", "bike.loom")
    assert result.exit_code == 2
    assert bike.read_bytes() == TIDY


def test_a_refusal_names_the_file_and_exits_2(bike: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("loomwright.lang.editing.formatter.laid_out", lambda *_, **__: "place a\n")
    result = run("bike.loom")
    assert result.exit_code == 2
    assert result.stderr.startswith("loomwright: bike.loom: left as it is: tidied, its words would not be the same")
    assert bike.read_bytes() == UNTIDY


def test_an_option_that_others_use_is_tidied_alone(bike: Path) -> None:
    """It refers to parts that it does not have: that is no reason to leave it."""
    bike.write_bytes(b"wire  9 F-IGN.2 to  GRIPS.1 RD\nmount  GRIPS.31 to FRAME\n")
    assert run("bike.loom").exit_code == 0
    assert bike.read_bytes() == b"wire 9 F-IGN.2 to GRIPS.1 red\nmount GRIPS.31 to FRAME\n"
