"""A drawing as a file: SVG as it is, PNG through resvg, PDF through Typst; all with the font that the project ships."""

from __future__ import annotations

from pathlib import Path

from ...lang.editing.replace import replace_file
from . import lettering, pdf
from .primitives import Drawing
from .svg import figure, svg_text

FORMATS = ("svg", "png", "pdf")


class UnknownFormat(ValueError):  # noqa: N818 (says what is wrong, as a user reads it)
    """A file name that does not say which format is wanted."""


def format_of(path: Path) -> str:
    """The format that a file's name asks for; raises :class:`UnknownFormat`."""
    ending = path.suffix.lower().removeprefix(".")
    if ending not in FORMATS:
        found = f"ends in .{ending}" if ending else "has no ending"
        raise UnknownFormat(f"{path.name} {found}: a drawing is written as .svg, .png or .pdf")
    return ending


def png_bytes(drawing: Drawing, zoom: float = 1.0) -> bytes:
    """The drawing as PNG at 96 pixels an inch times ``zoom``.

    Only the shipped font is used, so that every machine makes the same pixels; where a text holds characters that it
    lacks, the machine's own fonts take over.
    """
    import resvg_py

    plain = all(lettering.has_all(text.words) for text in drawing.texts)
    return bytes(
        resvg_py.svg_to_bytes(
            svg_string=svg_text(drawing),
            dpi=96,
            zoom=zoom,
            skip_system_fonts=plain,
            font_files=[str(lettering.REGULAR), str(lettering.BOLD)],
        )
    )


def pdf_bytes(drawing: Drawing) -> bytes:
    """The drawing as a PDF of one page, as large as it is (96 pixels an inch)."""
    page = (
        f"#set page(width: {figure(drawing.width * 0.75)}pt, height: {figure(drawing.height * 0.75)}pt, margin: 0pt)\n"
        f"#set document(title: {pdf.quoted(f'{drawing.title}: {drawing.sheet}')}, date: none)\n"
        f'#image(bytes({pdf.quoted(svg_text(drawing))}), format: "svg", width: 100%, '
        f"alt: {pdf.quoted(drawing.about)})\n"
    )
    return pdf.pdf_bytes(page, (text.words for text in drawing.texts))


def write(drawing: Drawing, path: Path | str) -> None:
    """Write a drawing to ``path`` in the format that its ending names; the file is replaced whole or not at all.

    Raises :class:`UnknownFormat` for another ending, ``OSError`` where the file cannot be written.
    """
    path = Path(path)
    match format_of(path):
        case "svg":
            data = svg_text(drawing).encode("utf-8")
        case "png":
            data = png_bytes(drawing)
        case _:
            data = pdf_bytes(drawing)
    replace_file(path, data)
