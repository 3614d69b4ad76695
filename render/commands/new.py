"""``loomwright new``: starts a harness."""

from __future__ import annotations

import click

from .exits import CannotError, reason


@click.command()
@click.argument("name", metavar="NAME")
def new(name: str) -> None:
    """Start a new harness file.

    Writes NAME.loom: small, commented, without a finding, and yours to change. A file that is there is never written
    over.

    \b
    Examples:
      loomwright new my-twin
      loomwright check my-twin.loom

    Exits 0, 2 when the file is there already or cannot be written.
    """
    from ...lang.files.starting import start

    try:
        click.echo(start(name))
    except FileExistsError as error:
        raise CannotError(f"{error.filename} is there already, and stays as it is: choose another name") from None
    except OSError as error:
        raise CannotError(f"{name}: cannot be written: {reason(error)}") from None
    except ValueError as error:
        raise click.UsageError(f"{name!r} cannot name a harness: {error}") from None
