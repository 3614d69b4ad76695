"""The pages of ``specs/tutorial``: what each command in them prints, and beside each harness what ``check`` prints.

A block of a page that begins with ``$ loomwright …`` is run in that folder, and shows what is printed. Where a line
``...`` ends what a command prints, the rest is left out: as many lines as stand before it are shown. A block of
``loom`` holds lines of the harness that the next command reads.

``python tests/tutorial.py`` writes the texts and the pages again; review them as prose in the diff.
"""

from __future__ import annotations

import re
import shlex
import shutil
from collections.abc import Iterator
from contextlib import chdir, contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from click.testing import CliRunner
from spec_files import harnesses

from loomwright.cli import main

FOLDER = Path(__file__).resolve().parents[1] / "specs" / "tutorial"
REST = "..."
_BLOCK = re.compile(r"(?<=^```\n)\$ loomwright .*?(?=^```$)", re.MULTILINE | re.DOTALL)
_COMMAND = re.compile(r"^\$ (?P<command>loomwright .*)\n(?P<shown>(?:(?!\$ ).*\n)*)", re.MULTILINE)
_LINES = re.compile(
    r"^```loom\n(?P<lines>.*?)^```$(?P<after>.*?)^\$ (?P<command>loomwright .*)$", re.MULTILINE | re.DOTALL
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
    """A copy of the tutorial's folder to stand in: what a command writes goes with it."""
    with TemporaryDirectory() as folder:
        shutil.copytree(FOLDER, folder, dirs_exist_ok=True)
        with chdir(folder):
            yield


def _with_output(found: re.Match[str]) -> str:
    output = printed(found["command"])
    shown = found["shown"].splitlines()
    if shown and shown[-1] == REST:
        output = "".join(output.splitlines(keepends=True)[: len(shown) - 1]) + f"{REST}\n"
    return f"$ {found['command']}\n{output}"


if __name__ == "__main__":
    for step in steps():
        step.with_suffix(".txt").write_text(checked(step), "utf-8")
    for page in pages():
        page.write_text(written(page), "utf-8")
