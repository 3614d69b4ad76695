"""``loomwright tidy``: formats harness files."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

from . import options
from .exits import CANNOT, FOUND, CannotError, reason
from .inputs import STANDARD_INPUT, check_standard_input, in_folders

if TYPE_CHECKING:
    from ...lang.editing.formatter import Tidied


@click.command()
@options.files
@click.option("--check", "only_check", is_flag=True, help="Write nothing; exit 1 where something would change.")
@click.option("--diff", "show_diff", is_flag=True, help="Write nothing; show what would change, and exit 1 if it does.")
@click.option("--stdin-filename", metavar="NAME", help="What to call the text that FILE - reads.")
def tidy(files: tuple[str, ...], only_check: bool, show_diff: bool, stdin_filename: str | None) -> None:
    """Format harness files.

    One space between words, four before the lines of a block, traits in their order, first forms of units and colours.
    Comments, blank lines and the order of lines stay, and so does every line with an error in its words. A file is
    replaced whole, and only after the formatted text was read and found to mean the same; no other command but `size
    --write` changes lines that you wrote. If FILE is a folder, every .loom file below it is formatted. FILE - reads
    standard input and writes the formatted text to standard output.

    \b
    Examples:
      loomwright tidy bike.loom
      loomwright tidy --diff .
      loomwright tidy - < bike.loom

    Exits 0, with --check and --diff 1 where something would change, 2 when a file cannot be read or written.
    """
    from ...lang.editing.formatter import TidyError, tidy_file
    from ...lang.files.reading import UnreadableError

    check_standard_input(files, stdin_filename)
    changes = failed = False
    for file in in_folders(files):
        try:
            if file == STANDARD_INPUT:
                tidied = _tidy_input(stdin_filename or "<stdin>", write=not (only_check or show_diff))
            else:
                tidied = tidy_file(file, write=not (only_check or show_diff))
        except UnreadableError as error:
            CannotError(f"cannot read {error}").show()
            failed = True
        except TidyError as error:
            CannotError(f"{file}: {error}").show()
            failed = True
        except OSError as error:
            CannotError(f"{file}: cannot be written and is what it was: {reason(error)}").show()
            failed = True
        else:
            changes = changes or tidied.differs
            if file != STANDARD_INPUT or only_check or show_diff:
                name = stdin_filename or "<stdin>" if file == STANDARD_INPUT else file
                _tell_tidied(name, tidied, only_check=only_check, show_diff=show_diff)
    if failed:
        raise click.exceptions.Exit(CANNOT)
    if changes and (only_check or show_diff):
        raise click.exceptions.Exit(FOUND)


def _tidy_input(name: str, *, write: bool) -> Tidied:
    from ...lang.editing.formatter import Tidied, decoded, encoded, tidy

    before = decoded(sys.stdin.buffer.read())
    tidied = Tidied(before, tidy(before, name))
    if write:
        sys.stdout.buffer.write(encoded(tidied.after))
        sys.stdout.buffer.flush()
    return tidied


def _tell_tidied(file: str, tidied: Tidied, *, only_check: bool, show_diff: bool) -> None:
    from ...lang.diagnostics.visible import visible

    if not tidied.differs:
        return
    if show_diff:
        from difflib import unified_diff

        texts = (text.removesuffix("\n").split("\n") for text in (tidied.before, tidied.after))
        before, after = ([line.removesuffix("\r") for line in lines] for lines in texts)
        for line in unified_diff(before, after, file, file, lineterm=""):
            click.echo(visible(line))
    elif only_check:
        click.echo(f"{visible(file)}: would be tidied")
    else:
        click.echo(f"{visible(file)}: tidied", err=True)
