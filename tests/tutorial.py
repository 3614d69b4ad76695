"""The pages of ``specs/tutorial``: what each command in them prints, and beside each harness what ``check`` prints.

A block of a page that begins with ``$ loomwright …`` is run in that folder, and shows what is printed. Where a line
``...`` stands, lines are left out: before the first one as many are shown as are there; what comes after one begins
with the line that is there, and is as long as it was, or goes on to the end where no ``...`` follows. A block of
``loom`` holds lines of the harness that the next command reads. The demonstrations are in the folder above.

``python tests/tutorial.py`` writes the texts and the pages again; review them as prose in the diff.
"""

from __future__ import annotations

import re
import shlex
import shutil
from collections.abc import Iterator
from contextlib import chdir, contextmanager
from difflib import get_close_matches
from pathlib import Path
from tempfile import TemporaryDirectory

from click.testing import CliRunner
from spec_files import harnesses

from loomwright.cli import main

FOLDER = Path(__file__).resolve().parents[1] / "specs" / "tutorial"
REST = "..."
EXAMPLES = Path("rules") / "changed-feed"
"""Of the rules' harnesses those that the pages name."""
_BLOCK = re.compile(r"(?<=^```\n)\$ loomwright .*?(?=^```$)", re.MULTILINE | re.DOTALL)
_COMMAND = re.compile(r"^\$ (?P<command>loomwright .*)\n(?P<shown>(?:(?!\$ ).*\n)*)", re.MULTILINE)
_LINES = re.compile(
    r"^```loom\n(?P<lines>.*?)^```$(?P<after>.*?)^\$ (?P<command>loomwright [^\n]*)$", re.MULTILINE | re.DOTALL
)


def pages() -> list[Path]:
    """The pages of the tutorial, in the order of their names."""
    return sorted(FOLDER.glob("*.md"))


def steps() -> list[Path]:
    """The harnesses of the tutorial, in the order of their names."""
    return harnesses(FOLDER.glob("*.loom"))


def written(page: Path) -> str:
    """The page with what its commands print now. They run in a copy of the folder, one after the other."""
    text = page.read_text("utf-8")
    with in_a_copy():
        return _BLOCK.sub(lambda block: _COMMAND.sub(_with_output, block[0]), text)


def checked(step: Path) -> str:
    """What ``check`` prints of a harness."""
    with in_a_copy():
        return printed(f"loomwright check {step.name}")


def printed(command: str) -> str:
    """What a command of the terminal prints, run where one stands. It must not fail to run."""
    result = CliRunner().invoke(main, shlex.split(command)[1:], catch_exceptions=False)
    assert result.exit_code in (0, 1), f"{command}: {result.output}"
    return result.output if result.output.endswith("\n") or not result.output else f"{result.output}\n"


def quoted(page: Path) -> Iterator[tuple[str, str]]:
    """Each line of a harness that a page shows, with the command that reads that harness next."""
    for found in _LINES.finditer(page.read_text("utf-8")):
        for line in found["lines"].splitlines():
            yield line.strip(), found["command"]


@contextmanager
def in_a_copy() -> Iterator[None]:
    """A copy of the tutorial's folder to be in, and of what its pages name; what a command writes goes with it."""
    with TemporaryDirectory() as folder:
        for demonstration in FOLDER.parent.glob("*.loom"):
            shutil.copy(demonstration, folder)
        shutil.copytree(FOLDER.parent / EXAMPLES, Path(folder) / EXAMPLES)
        shutil.copytree(FOLDER, Path(folder) / FOLDER.name)
        with chdir(Path(folder) / FOLDER.name):
            yield


def _with_output(found: re.Match[str]) -> str:
    return f"$ {found['command']}\n{_shown(printed(found['command']), found['shown'])}"


def _shown(output: str, before: str) -> str:
    """Of what a command prints now, the stretches that the page showed before; all of it where it left nothing out."""
    lines = output.splitlines()
    stretches: list[list[str]] = [[]]
    for line in before.splitlines():
        if line == REST:
            stretches.append([])
        else:
            stretches[-1].append(line)
    first, *others = stretches
    if not others:
        return output
    at = len(first)
    shown = lines[:at]
    for i, stretch in enumerate(others, 1):
        shown.append(REST)
        if stretch:
            start = at + _place_of(stretch[0], lines[at:])
            at = len(lines) if i == len(others) else start + len(stretch)
            shown += lines[start:at]
    return "".join(f"{line}\n" for line in shown)


def _place_of(line: str, lines: list[str]) -> int:
    """Where a line is, or that which is most like it: words change. Raises ``ValueError`` where none is like it."""
    like = get_close_matches(line, lines, n=1)
    return lines.index(like[0] if like else line)


if __name__ == "__main__":
    for step in steps():
        step.with_suffix(".txt").write_text(checked(step), "utf-8")
    for page in pages():
        page.write_text(written(page), "utf-8")
