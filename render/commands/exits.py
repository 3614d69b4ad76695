"""How a command ends.

Exit status: 0, nothing found at the level asked for; 1, something found, mistakes in a text included; 2, a file cannot
be read or written, or the command line is wrong; 70, a fault of Loomwright's own; 130, interrupted.
"""

from __future__ import annotations

import sys
from collections.abc import Iterable
from typing import IO, Any, Final, NoReturn

import click

from ...lang.diagnostics.visible import visible_lines

FOUND: Final = 1
CANNOT: Final = 2
OWN_FAULT: Final = 70
INTERRUPTED: Final = 130


def say(message: str, file: IO[Any] | None = None) -> None:
    """``program: message`` on standard error, as the GNU coding standards say where no line is."""
    click.echo(f"loomwright: {visible_lines(message)}", file=file, err=True)


class CannotError(click.ClickException):
    """A file that cannot be read or written, or is of the wrong sort."""

    exit_code = CANNOT

    def show(self, file: IO[Any] | None = None) -> None:
        say(self.format_message(), file)


def own_fault() -> NoReturn:
    """Ends the process after a fault of Loomwright's own, while it is being handled."""
    import traceback

    traceback.print_exc()
    say("this is a fault of loomwright itself and says nothing about the harness")
    sys.exit(OWN_FAULT)


def reason(error: Exception) -> str:
    """Why the system refused a file, as a clause."""
    why = (isinstance(error, OSError) and error.strerror) or str(error)
    return f"{why[:1].lower()}{why[1:]}"


def no_such(what: str, name: str, known: Iterable[str]) -> click.UsageError:
    """A name on the command line that means nothing, with the nearest ones that do; with all where they are few."""
    from ..report.asked import no_such_words

    return click.UsageError(no_such_words(what, name, known))
