"""Drawings as files: well-formed, escaped, of the right size, the same bytes each time."""

from __future__ import annotations

import re
import struct
import zlib
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.lang.vocabulary.colours import Colour
from loomwright.render.drawing.export import UnknownFormat, pdf_bytes, png_bytes, write
from loomwright.render.drawing.primitives import Drawing, Element, Rect, Run, Text
from loomwright.render.drawing.svg import clean, svg_text

SVG = "{http://www.w3.org/2000/svg}"
NASTY = '</text><script>alert("1")</script> & \' "quotes" \x07 ]]>'


def drawing(words: str = "12", title: str = "Bench") -> Drawing:
    text = Text(words, (30, 60))
    box = Rect(20, 40, 30 + text.width + 4, 70)
    element = Element("F", words, "fuse", f"about {words}", box, (), (text,))
    run = Run(words, f"wire {words}", Colour("red", "white"), (((10.0, 20.0), (150.0, 20.0)),), ())
    return Drawing(max(200.0, box.right + 10), 100.0, title, "whole", f"All of {title}", (element,), (run,), (), (), ())


def test_a_reader_who_does_not_see_it_is_told_what_it_is() -> None:
    root = ElementTree.fromstring(svg_text(drawing()))
    assert root.get("role") == "img"
    named = {child.get("id"): child.text for child in root if child.get("id")}
    assert [named[key] for key in (root.get("aria-labelledby") or "").split()] == ["Bench: whole", "All of Bench"]
    groups = root.findall(f".//{SVG}g[@class]")
    assert groups
    assert all(group.find(f"{SVG}title") is not None for group in groups)


def test_what_a_user_wrote_stays_text() -> None:
    root = ElementTree.fromstring(svg_text(drawing(NASTY, NASTY)))
    assert not root.findall(f".//{SVG}script")
    assert "".join(root.find(f".//{SVG}text").itertext()) == NASTY.replace("\x07", "")  # type: ignore[union-attr]
    assert pdf_bytes(drawing(NASTY, NASTY)).startswith(b"%PDF")
    assert png_bytes(drawing(NASTY, NASTY)).startswith(b"\x89PNG")


@given(st.text())
def test_any_text_makes_well_formed_xml(text: str) -> None:
    assert ElementTree.fromstring(f"<t>{clean(text)}</t>") is not None


def test_texts_bear_their_measured_length_so_that_another_font_fits_too() -> None:
    found = ElementTree.fromstring(svg_text(drawing("HORN-BUTTON"))).find(f".//{SVG}text")
    assert found is not None
    assert float(found.get("textLength", "0")) == pytest.approx(Text("HORN-BUTTON", (0, 0)).width, abs=0.01)


def test_a_wire_has_its_colour_its_stripe_and_a_dark_edge() -> None:
    group = ElementTree.fromstring(svg_text(drawing())).find(f".//{SVG}g[@class='wire']")
    assert group is not None
    paths = group.findall(f"{SVG}path")
    strokes = [path.get("stroke") for path in paths]
    widths = [float(path.get("stroke-width", "0")) for path in paths]
    assert len(set(strokes)) == 3, "edge, colour, stripe"
    assert widths == sorted(widths, reverse=True)
    assert luminance(strokes[0] or "") < 0.05, "white and yellow show on white paper, and in grey"
    assert paths[2].get("stroke-dasharray"), "a stripe is no second wire"


def luminance(colour: str) -> float:
    """Relative luminance, WCAG 2.2: https://www.w3.org/TR/WCAG22/#dfn-relative-luminance."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def test_a_png_is_as_large_as_the_sheet_and_holds_what_is_drawn() -> None:
    png = png_bytes(drawing())
    assert struct.unpack(">II", png[16:24]) == (200, 100)
    assert struct.unpack(">II", png_bytes(drawing(), zoom=2)[16:24]) == (400, 200)
    data = zlib.decompress(b"".join(chunks(png, b"IDAT")))
    assert len(set(data)) > 10, "an empty sheet"


def chunks(png: bytes, wanted: bytes) -> list[bytes]:
    found, at = [], 8
    while at < len(png):
        length, kind = struct.unpack(">I4s", png[at : at + 8])
        if kind == wanted:
            found.append(png[at + 8 : at + 8 + length])
        at += 12 + length
    return found


def test_a_pdf_is_one_page_of_the_size_of_the_sheet() -> None:
    pdf = pdf_bytes(drawing())
    boxes = re.findall(rb"/MediaBox\s*\[([^\]]*)\]", pdf)
    assert len(boxes) == 1
    assert [float(figure) for figure in boxes[0].split()] == pytest.approx([0, 0, 150, 75])
    assert b"DejaVuSans" in pdf, "the shipped font"
    assert b"CreationDate" not in pdf


@pytest.mark.parametrize("make", [svg_text, png_bytes, pdf_bytes])
def test_the_same_drawing_gives_the_same_bytes(make: object) -> None:
    assert make(drawing()) == make(drawing())  # type: ignore[operator]


@pytest.mark.parametrize(("ending", "start"), [("svg", b"<svg "), ("png", b"\x89PNG"), ("PDF", b"%PDF")])
def test_the_ending_of_the_name_decides(tmp_path: Path, ending: str, start: bytes) -> None:
    target = tmp_path / f"sheet.{ending}"
    write(drawing(), target)
    assert target.read_bytes().startswith(start)


@pytest.mark.parametrize("name", ["sheet.gif", "sheet", "sheet.svgz"])
def test_another_ending_is_refused_with_those_there_are(tmp_path: Path, name: str) -> None:
    with pytest.raises(UnknownFormat, match=r"\.svg, \.png or \.pdf"):
        write(drawing(), tmp_path / name)
    assert not list(tmp_path.iterdir())


def test_characters_that_the_font_lacks_come_from_the_machine_and_break_nothing() -> None:
    assert png_bytes(drawing("日本")).startswith(b"\x89PNG")
    assert pdf_bytes(drawing("日本")).startswith(b"%PDF")
