"""Charts in a page: each a picture, with all that it shows in words for whoever does not see it."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from typing import Final

from ..drawing.charts import Chart, drawn
from ..drawing.leaves import Leaf, leaf_svg
from ..drawing.primitives import moved
from .photographs import data_uri

WIDTH: Final = 180.0
"""mm of a chart."""
MARGIN: Final = 3.0


def charts_html(charts: Iterable[Chart]) -> str:
    """The charts one below the other, as HTML that is safe as it is."""
    return "".join(map(_figure, charts))


def _figure(chart: Chart) -> str:
    made = drawn(chart, WIDTH - 2 * MARGIN)
    leaf = Leaf(
        width=WIDTH,
        height=made.height + 2 * MARGIN,
        title=chart.title,
        about=chart.about,
        shapes=tuple(moved(shape, MARGIN, MARGIN) for shape in made.shapes),
    )
    width, height = (round(mm * 96 / 25.4) for mm in (leaf.width, leaf.height))
    return (
        f'<div class="sheet" tabindex="0"><img src="{data_uri("image/svg+xml", leaf_svg(leaf).encode())}" '
        f'width="{width}" height="{height}" alt="{escape(chart.about)}"></div>'
    )
