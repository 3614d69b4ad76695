"""Charts that a command draws into a file."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Final

import click

from ...lang.diagnostics.visible import visible
from .exits import CannotError
from .inputs import STANDARD_INPUT
from .outputs import save_bytes

if TYPE_CHECKING:
    from ...lang.model.harness import Harness
    from ..drawing.charts import Chart

PICTURES: Final = ("pdf", "svg", "png")


def save_charts(harness: Harness, charts: Sequence[Chart], sheet: str, file: str, output: str, ending: str) -> None:
    """Draw charts into one file, and print its name. Raises ``CannotError`` where there is nothing to draw."""
    from ...lang.files.revisions import revision_of
    from ..bench.chart_sheet import chart_leaves
    from ..drawing.leaves import as_files

    if not charts:
        raise CannotError(f"{file}: there is nothing to draw: no fuse with a rating, no load that is on, no battery")
    title = harness.title or Path(file).stem
    revision = "" if file == STANDARD_INPUT else revision_of(file)
    leaves = chart_leaves(charts, title, sheet, revision=revision)
    if ending != "pdf" and len(leaves) > 1:
        raise click.UsageError(f"{output}: these are {len(leaves)} leaves: name a PDF")
    (data,) = as_files(sheet, f"{title}: {sheet}", leaves, (ending,)).values()
    save_bytes(output, data)
    click.echo(visible(output))
