"""What a drawing must not leave out or draw as another: two mounts of one terminal, and what joins two grounds."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomwright.lang.files.reading import read_text
from loomwright.render.drawing.primitives import Drawing
from loomwright.render.schematic.schematic import draw

HERE = Path(__file__).parent


def drawn(text: str, system: str | None = None) -> Drawing:
    reading = read_text(text, "bike.loom")
    assert [m.message for m in reading.mistakes] == []
    return draw(reading.harness, system=system)


def grounds(drawing: Drawing) -> list[tuple[str, ...]]:
    """What each symbol of a mount says, in the order of its key."""
    elements = sorted((e for e in drawing.elements if e.key.startswith("ground of mount")), key=lambda e: e.key)
    return [tuple(text.words for text in element.texts) for element in elements]


def wires(drawing: Drawing) -> list[str]:
    return sorted(run.name for run in drawing.runs)


def test_two_mounts_of_one_terminal_are_two_symbols() -> None:
    text = (HERE / "one-terminal-two-mounts.loom").read_text("utf-8")
    assert grounds(drawn(text)) == [("BARS", "mounted"), ("FRAME", "through bearings")]
    swapped = text.replace("BTN.31 to BARS", "BTN.31 to X").replace("BTN.31 to FRAME", "BTN.31 to BARS")
    assert grounds(drawn(swapped.replace("to X", "to FRAME"))) == [("FRAME", "mounted"), ("BARS", "through bearings")]
    assert grounds(drawn(text, "signals")) == [("BARS", "mounted"), ("FRAME", "through bearings")]


STRAP = "wire 6 ENGINE to FRAME black 6 mm2"


@pytest.mark.parametrize(
    ("strap", "extra"),
    [
        (STRAP, ["6"]),
        ("wire 6 ENGINE to SP black 6 mm2\nsplice SP at engine\nwire 7 SP to FRAME black 6 mm2", ["6", "7"]),
        ("ground SUB at engine\nwire 6 ENGINE to SUB black 6 mm2\nwire 7 SUB to FRAME black 6 mm2", ["6", "7"]),
        ("connector C1 1 ways at engine\nwire 6 ENGINE to FRAME via C1.1 black 6 mm2", ["6.1", "6.2"]),
        ("", []),
    ],
    ids=["strap", "splice", "third body", "plug", "none"],
)
def test_the_way_between_two_grounds_is_on_the_sheet(strap: str, extra: list[str]) -> None:
    text = (HERE / "sheet-without-strap.loom").read_text("utf-8").replace(STRAP, strap)
    drawing = drawn(text, "signals")
    assert [key for key in wires(drawing) if key not in {"1", "2", "3", "4", "5"}] == extra
    keys = [element.key for element in drawing.elements]
    assert len(keys) == len(set(keys))
    if strap == STRAP:
        assert {"ground of FRAME for 6 above", "ground of ENGINE for 6 below"} <= set(keys)


def test_one_body_needs_no_strap() -> None:
    text = (HERE / "sheet-without-strap.loom").read_text("utf-8")
    text = text.replace("BAT.- to ENGINE black 6 mm2", "BAT.- to FRAME black 6 mm2 0.2 m")
    assert wires(drawn(text, "signals")) == ["1", "2", "3", "4", "5"]


def test_a_bulb_of_another_voltage_is_drawn_with_it() -> None:
    """Whoever buys the bulb from the drawing must not buy one for 12 V."""
    text = """loom "Six volt bulb"
source BAT battery { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
fuse MAIN 5 A blade
load LAMP lamp { lamp 21 W at 6 V: 1 2 }
wire 1 BAT.+ to MAIN.1 red 1 mm2 0.1 m
wire 2 MAIN.2 to LAMP.1 red 1 mm2 0.1 m
wire 3 LAMP.2 to BAT.- black 1 mm2 0.1 m
"""
    written = [each.words for each in draw(read_text(text).harness).texts]
    assert any("21 W at 6 V" in line for line in written), written
