"""Pages as PDF: markup of Typst is compiled with the font that the project ships, and with nothing from outside.

No file but the fonts is read, no network is asked, and the date is left out, so that the same input gives the same
bytes. Words of a user get into markup through :func:`quoted` alone.
"""

from __future__ import annotations

from collections.abc import Iterable

from . import lettering

FONT = '#set text(font: "DejaVu Sans", stretch: 75%)'
"""What markup begins with: the shipped font (:mod:`lettering` measures it), which Typst finds by family and stretch."""


def quoted(text: str) -> str:
    """A string of Typst's language, quotation marks included: ``#text(quoted(...))`` shows it as it is."""
    body = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n").replace("\r", "\\r").replace("\t", "\\t")
    return f'"{body}"'


def pdf_bytes(markup: str, texts: Iterable[str]) -> bytes:
    """The pages that ``markup`` describes. ``texts`` are the words on them: where one holds a character that the
    shipped font lacks, the machine's own fonts take over; otherwise every machine makes the same pages.
    """
    import typst

    plain = all(lettering.has_all(text) for text in texts)
    folder = str(lettering.FONTS)
    fonts = typst.Fonts(include_system_fonts=not plain, font_paths=[folder])
    compiler = typst.Compiler(markup.encode("utf-8"), root=folder, font_paths=fonts)
    result = compiler.compile(format="pdf", timestamp=0)
    if not isinstance(result, bytes):
        raise TypeError("a PDF is one file")
    return result
