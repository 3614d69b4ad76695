"""The command line: reads arguments, calls the language, the checks and the drawings, prints."""

from __future__ import annotations

import click

from . import __version__


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="loomwright", message="%(prog)s %(version)s")
def main() -> None:
    """Motorcycle wiring harnesses as text: checked on every edit, drawn as a schematic."""
