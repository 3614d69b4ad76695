"""``loomwright new``: starts a harness."""

from __future__ import annotations

import click

from ...lang.diagnostics.visible import visible
from .exits import CannotError, reason


@click.command()
@click.argument("name", metavar="NAME")
@click.option(
    "--repository",
    is_flag=True,
    help="Make the folder NAME for one motorcycle: its harness, settings, hooks, .gitignore and a workflow for CI.",
)
def new(name: str, repository: bool) -> None:
    """Start a new harness file.

    Writes NAME.loom: small, commented and without a finding; change it as you like. An existing file is never
    overwritten.

    \b
    Examples:
      loomwright new my-twin
      loomwright check my-twin.loom
      loomwright new my-twin --repository

    Exits 0, 2 when the file is there already or cannot be written.
    """
    from ... import __version__
    from ...lang.files.starting import start, start_repository

    try:
        for file in start_repository(name, __version__) if repository else (start(name),):
            click.echo(visible(file))
    except FileExistsError as error:
        raise CannotError(f"{error.filename} is there already, and stays as it is: choose another name") from None
    except OSError as error:
        raise CannotError(f"{name}: cannot be written: {reason(error)}") from None
    except ValueError as error:
        raise click.UsageError(f"{name!r} cannot name a harness: {error}") from None
