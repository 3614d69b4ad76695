"""Leaves of paper in mm for the bench: shapes on them become SVG, PNG, or one PDF of many leaves."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

from ...lang.records import dataclass
from . import lettering, pdf
from .primitives import Drawing, Point, Rect, Shape, Text, scaled
from .svg import content_svg, figure, head_svg, shape_svg

PIXEL: Final = 25.4 / 96
"""mm of a pixel."""
DOTS: Final = 150.0
"""An inch of a leaf as PNG has this many."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """A part of a leaf through which ``shapes`` are seen, as through a hole: what lies outside it is not shown."""

    hole: Rect
    shapes: tuple[Shape, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Inset:
    """A drawing in pixels on a leaf: ``at`` is where its corner is in mm, ``scale`` the mm of a pixel."""

    drawing: Drawing
    at: Point
    scale: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Leaf:
    """One side of paper, ``width`` by ``height`` mm. ``about`` says what is on it to a reader who does not see it."""

    width: float
    height: float
    title: str
    about: str
    shapes: tuple[Shape, ...]
    windows: tuple[Window, ...] = ()
    inset: Inset | None = None

    @property
    def all_shapes(self) -> Iterator[Shape]:
        """The shapes of the leaf and of its windows."""
        yield from self.shapes
        for window in self.windows:
            yield from window.shapes

    @property
    def texts(self) -> tuple[Text, ...]:
        """Every text in mm, those of a drawing on the leaf too."""
        own = tuple(shape for shape in self.all_shapes if isinstance(shape, Text))
        if self.inset is None:
            return own
        (dx, dy), scale = self.inset.at, self.inset.scale
        there = (scaled(text, scale, dx, dy) for text in self.inset.drawing.texts)
        return (*own, *(text for text in there if isinstance(text, Text)))


def leaf_svg(leaf: Leaf, unit: str = "mm") -> str:
    """The leaf as an SVG document whose unit is the mm; the same bytes for the same leaf.

    Without a ``unit`` it is as many pixels large as the leaf has mm, for whoever rounds sizes to whole pixels.
    """
    lines = [*head_svg((leaf.width, leaf.height), "leaf", leaf.title, leaf.about, unit)]
    for number, window in enumerate(leaf.windows, 1):
        hole = window.hole
        lines += [
            (
                f'<clipPath id="hole-{number}"><rect x="{figure(hole.left)}" y="{figure(hole.top)}" '
                f'width="{figure(hole.width)}" height="{figure(hole.height)}"/></clipPath>'
            ),
            f'<g clip-path="url(#hole-{number})">',
            *(shape_svg(shape, PIXEL) for shape in window.shapes),
            "</g>",
        ]
    if leaf.inset is not None:
        (x, y), scale = leaf.inset.at, leaf.inset.scale
        moved = f"translate({figure(x)} {figure(y)}) scale({scale})"
        lines += [f'<g transform="{moved}">', *content_svg(leaf.inset.drawing), "</g>"]
    lines += [shape_svg(shape, PIXEL) for shape in leaf.shapes]
    lines += ["</g>", "</svg>", ""]
    return "\n".join(lines)


def leaf_png(leaf: Leaf) -> bytes:
    """The leaf as PNG, with the shipped font alone where that has every character."""
    import resvg_py

    return bytes(
        resvg_py.svg_to_bytes(
            svg_string=leaf_svg(leaf),
            dpi=96,
            zoom=DOTS / 96,
            skip_system_fonts=all(lettering.has_all(text.words) for text in leaf.texts),
            font_files=[str(lettering.REGULAR), str(lettering.BOLD)],
        )
    )


def leaves_pdf(title: str, leaves: Iterable[Leaf]) -> bytes:
    """All leaves as one PDF, each a page of its size; the same bytes for the same leaves."""
    leaves = tuple(leaves)
    lines = [f"#set document(title: {pdf.quoted(title)}, date: none)"]
    lines += [
        f"#page(width: {figure(leaf.width)}mm, height: {figure(leaf.height)}mm, margin: 0mm)"
        f'[#image(bytes({pdf.quoted(leaf_svg(leaf, unit=""))}), format: "svg", width: {figure(leaf.width)}mm, '
        f'height: {figure(leaf.height)}mm, fit: "stretch", alt: {pdf.quoted(leaf.about)})]'
        for leaf in leaves
    ]
    return pdf.pdf_bytes("\n".join(lines) + "\n", (text.words for leaf in leaves for text in leaf.texts))


def as_files(stem: str, title: str, leaves: Sequence[Leaf], formats: Iterable[str]) -> dict[str, bytes]:
    """The leaves as files by their names: one PDF, or an SVG or PNG a leaf, numbered where there are several."""
    digits = len(str(len(leaves)))
    names = [stem if len(leaves) == 1 else f"{stem}-{number:0{digits}}" for number in range(1, len(leaves) + 1)]
    files: dict[str, bytes] = {}
    for format_ in formats:
        if format_ == "pdf":
            files[f"{stem}.pdf"] = leaves_pdf(title, leaves)
        else:
            for name, leaf in zip(names, leaves, strict=True):
                made = leaf_svg(leaf).encode("utf-8", "backslashreplace") if format_ == "svg" else leaf_png(leaf)
                files[f"{name}.{format_}"] = made
    return files
