"""What somebody meets first: a harness to start from, help, completion."""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from loomwright.checks.runner.run import catalogue
from loomwright.cli import main


def run(*arguments: str) -> Result:
    result = CliRunner().invoke(main, arguments, catch_exceptions=False)
    assert "Traceback" not in result.output
    return result


def test_a_new_harness_checks_clean_draws_and_stays(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert run("new", "twin").output == "twin.loom\n"
    assert run("check", "twin.loom", "--fail-on", "note").output.startswith("twin.loom: nothing found (")
    assert run("tidy", "--check", "twin.loom").exit_code == 0
    text = Path("twin.loom").read_text()
    again = run("new", "twin")
    assert again.exit_code == 2
    assert again.stderr == "loomwright: twin.loom is there already, and stays as it is: choose another name\n"
    assert Path("twin.loom").read_text() == text
    assert run("new", "no/such/folder/twin").exit_code == 2
    assert run("new", 'a"b').exit_code == 2


@pytest.mark.parametrize("name", main.commands)
def test_help_tells_how_it_exits_or_is_of_no_consequence(name: str) -> None:
    """Commands whose exit status a script may ask for say what it is."""
    text = run(name, "--help").output
    if name in ("check", "accept", "tidy", "new", "watch", "draw", "trace"):
        assert re.search(r"\bExits\s+\d", text)


def test_help_has_examples_that_are_command_lines() -> None:
    """Each example names a command and options that there are."""
    shown = 0
    for name in ("", *main.commands):
        text = run(*([name] if name else []), "--help").output
        for line in re.findall(r"^\s+(loomwright .+)$", text, re.MULTILINE):
            words = [word for word in shlex.split(line.partition(" #")[0]) if word not in ("<", ">")][1:]
            command = main.commands[words[0]]
            options = {option for parameter in command.params for option in parameter.opts}
            assert {word for word in words[1:] if word.startswith("--")} <= options, line
            shown += 1
    assert shown >= 12
    statuses = re.findall(r"^ +(\d+) ", run("--help").output, re.MULTILINE)
    assert statuses == ["0", "1", "2", "70", "130"]


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_a_shell_gets_its_completion(shell: str, tmp_path: Path) -> None:
    text = run("completion", shell).output
    assert "_LOOMWRIGHT_COMPLETE" in text
    program = shutil.which(shell)
    if program is not None:
        (tmp_path / "script").write_text(text)
        subprocess.run([program, "-n", str(tmp_path / "script")], check=True)


def completions(line: str, word: int) -> list[str]:
    """What bash offers when somebody presses the tab key."""
    environment = {"COMP_WORDS": line, "COMP_CWORD": str(word), "_LOOMWRIGHT_COMPLETE": "bash_complete"}
    code = "import sys; sys.argv = ['loomwright']; from loomwright.cli import main; main(prog_name='loomwright')"
    done = subprocess.run(
        [sys.executable, "-c", code], env={**os.environ, **environment}, capture_output=True, text=True, check=False
    )
    assert done.stderr == ""
    return done.stdout.split()


def test_completion_knows_commands_options_files_and_rules() -> None:
    assert "plain,check" in completions("loomwright che", 1)
    assert "plain,--accepted" in completions("loomwright check --acc", 2)
    assert completions("loomwright check bi", 2) == ["file,bi"]
    assert "plain,github" in completions("loomwright check --format gi", 3)
    name = catalogue()[0].name
    assert f"plain,{name}" in completions(f"loomwright explain {name[:3]}", 2)
