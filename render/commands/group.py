"""The command line: all commands under one name. Each is imported when it is asked for."""

from __future__ import annotations

import atexit
import gc
import os
import sys
from collections.abc import Iterator, Mapping
from importlib import import_module
from typing import Any, Final

YOUNG: Final = 300_000
"""This many new objects may there be before garbage is looked for (ours). Next to none of them ever is: looking after
every 700, as Python does, takes a fifteenth of the time of a check.
"""
gc.set_threshold(YOUNG)  # what is imported from here on is no garbage, either

import click  # noqa: E402

from ... import __version__  # noqa: E402
from ...lang.diagnostics.visible import visible_lines  # noqa: E402
from .exits import CANNOT, INTERRUPTED, own_fault  # noqa: E402

NAMES: Final = (
    "accept",
    "bench",
    "buy",
    "check",
    "compare",
    "completion",
    "cut",
    "draft",
    "draw",
    "explain",
    "export",
    "faults",
    "identify",
    "labels",
    "locate",
    "log",
    "mutate",
    "new",
    "page",
    "prove",
    "record",
    "rules",
    "serve",
    "size",
    "sort",
    "states",
    "suspect",
    "tags",
    "tidy",
    "trace",
    "watch",
)
"""The commands; the module and the command in it have the same name."""


class _Files(Mapping[str, click.Command]):
    """The commands by name, each imported when it is first asked for."""

    def __getitem__(self, name: str) -> click.Command:
        if name not in NAMES:
            raise KeyError(name)
        command: click.Command = getattr(import_module(f".{name}", __package__), name)
        return command

    def __iter__(self) -> Iterator[str]:
        return iter(NAMES)

    def __len__(self) -> int:
        return len(NAMES)


class _Group(click.Group):
    """Sees to it that "found something" and "could not run" never look alike, however a command ends."""

    def invoke(self, ctx: click.Context) -> Any:
        try:
            return super().invoke(ctx)
        except click.UsageError as error:
            raise click.UsageError(visible_lines(error.format_message()), error.ctx) from None
        except (click.ClickException, click.exceptions.Exit):
            raise
        except (KeyboardInterrupt, click.Abort):
            ctx.exit(INTERRUPTED)
        except BrokenPipeError:  # whoever read our output has gone: there is nobody left to tell
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            ctx.exit(CANNOT)
        except Exception:  # noqa: BLE001  the last resort: Python's own status for it is 1, which here means "found"
            own_fault()


@click.group("loomwright", cls=_Group, commands=_Files(), context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="loomwright", message="%(prog)s %(version)s")
def main() -> None:
    """Motorcycle wiring harnesses as text: checked on every edit, drawn as a schematic.

    It tells what it checked and what it found, never that a harness is safe: local codes, the makers' instructions and
    licensed practice come first; measure before you trust a wire.

    \b
    Examples:
      loomwright new my-twin
      loomwright watch my-twin.loom
      loomwright check my-twin.loom
      loomwright explain unfused-feed

    \b
    Exit status:
      0    nothing was found at the level asked for
      1    something was found, errors in a text included
      2    a file cannot be read or written, or the command line is wrong
      70   a fault of loomwright's own, which says nothing about the harness
      130  interrupted
    """
    atexit.register(gc.freeze)  # what is there at the end goes with the process: no garbage need be looked for in it
    for stream in (sys.stdout, sys.stderr):
        # A terminal that cannot show a letter gets its number: an Ω is no reason to stop.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
