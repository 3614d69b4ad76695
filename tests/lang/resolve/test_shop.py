"""What a shop states, and rules judged otherwise: words become the model's, and what is wrong is stated."""

from __future__ import annotations

import pytest

from loomwright.lang.editing.formatter import tidy
from loomwright.lang.files.reading import read_text
from loomwright.lang.model.statements import House

SHOP = """loom "shop"
house profile small-craft
house smallest 0.75 mm2
house drop 5 %
house colour brown for ground
house colour BK/WH for turn-left
house connector 10 A sealed
house connector 3 ways 25 A
judge voltage-drop note because "an old machine"
judge unfused-feed off because "sheathed all the way"
"""


def kinds(text: str) -> list[str]:
    return [mistake.kind for mistake in read_text(text).mistakes]


def test_all_that_a_house_states() -> None:
    reading = read_text(SHOP)
    assert reading.mistakes == ()
    house = reading.harness.house
    assert house.profile is not None
    assert (house.profile.name, house.profile.is_file) == ("small-craft", False)
    assert house.smallest is not None
    assert house.smallest.size.text == "0.75 mm2"
    assert house.drop is not None
    assert house.drop.share == pytest.approx(0.05)
    assert [(str(each.colour), each.function) for each in house.colours] == [
        ("brown", "ground"),
        ("black/white", "turn-left"),
    ]
    assert [(each.ways, each.amps, each.sealed) for each in house.connectors] == [(None, 10.0, True), (3, 25.0, False)]
    assert [(each.rule, each.level, each.because) for each in reading.harness.judgements] == [
        ("voltage-drop", "note", "an old machine"),
        ("unfused-feed", "off", "sheathed all the way"),
    ]


def test_a_harness_that_says_nothing_has_an_empty_house() -> None:
    assert read_text('loom "bare"\n').harness.house == House()


@pytest.mark.parametrize("size", ["20 AWG", "28 x 0.30 mm", "1 mm²"])
def test_the_smallest_size_in_every_form_of_a_size(size: str) -> None:
    reading = read_text(f"house smallest {size}\n")
    assert reading.mistakes == ()
    assert reading.harness.house.smallest is not None


def test_the_order_of_lines_does_not_matter() -> None:
    head, *lines = SHOP.splitlines()
    turned = read_text("\n".join([head, *reversed(lines)]) + "\n")
    assert turned.mistakes == ()
    assert turned.harness.house.drop is not None
    assert {each.rule for each in turned.harness.judgements} == {"voltage-drop", "unfused-feed"}


def test_a_shared_file_states_the_house(tmp_path: object) -> None:
    from pathlib import Path

    folder = Path(str(tmp_path))
    (folder / "shop.loom").write_text("house drop 3 %\nhouse smallest 1 mm2\n")
    (folder / "bike.loom").write_text('loom "bike"\nuse "shop.loom"\n')
    from loomwright.lang.files.reading import read_file

    house = read_file(folder / "bike.loom").harness.house
    assert house.drop is not None
    assert house.drop.span.file.endswith("shop.loom")
    assert house.smallest is not None


@pytest.mark.parametrize(
    ("line", "kind"),
    [
        ("house colr brown for ground", "unknown-word"),
        ("house colour brown", "missing-word"),
        ("house colour for ground", "missing-word"),
        ("house colour brown for grund", "unknown-word"),
        ("house colour crimson for ground", "unknown-word"),
        ("house colour brown for ground for lighting", "repeated"),
        ("house smallest", "missing-word"),
        ("house smallest 0.75", "missing-unit"),
        ("house smallest 0.75mm2", "glued-unit"),
        ("house drop 5 V", "wrong-dimension"),
        ("house drop 120 %", "out-of-range"),
        ("house drop 5", "missing-unit"),
        ("house connector sealed", "missing-word"),
        ("house connector 10 A red", "unknown-word"),
        ("house profile", "unexpected-end"),
        ('house profile "a.toml" small-craft', "unexpected-word"),
        ("house profile 5 %", "unexpected-word"),
        ("house", "unexpected-end"),
        ("judge voltage-drop off", "unexpected-end"),
        ('judge voltage-drop off because ""', "no-reason"),
        ('judge voltage-drop off because "  "', "no-reason"),
        ('judge voltage-drop silent because "x"', "unknown-word"),
        ('judge voltage-drop because "x"', "unexpected-word"),
    ],
)
def test_what_is_wrong_is_said(line: str, kind: str) -> None:
    reading = read_text(f'loom "wrong"\n{line}\nplace tray\n')
    assert [mistake.kind for mistake in reading.mistakes] == [kind]
    assert reading.mistakes[0].expected
    assert list(reading.harness.places) == ["tray"], "a mistake costs its own line and no other"


@pytest.mark.parametrize(
    "twice",
    [
        "house drop 5 %\nhouse drop 3 %",
        "house smallest 1 mm2\nhouse smallest 1 mm2",
        "house profile boat-law\nhouse profile small-craft",
        "house colour brown for ground\nhouse colour brown for ground",
        'judge voltage-drop note because "a"\njudge voltage-drop off because "b"',
    ],
)
def test_said_twice(twice: str) -> None:
    assert kinds(twice) == ["repeated"]


def test_two_colours_may_be_for_one_function() -> None:
    assert kinds("house colour brown for ground\nhouse colour black for ground") == []


def test_tidy_writes_the_first_forms_in_order() -> None:
    text = (
        "house   colour for turn-left  BK/WH\nhouse connector sealed 10 A 4 ways\nhouse smallest 1  mm²\n"
        'house profile  "a  b.toml"\njudge  voltage-drop   off because "it  is"\n'
    )
    assert tidy(text) == (
        "house colour black/white for turn-left\nhouse connector 4 ways 10 A sealed\nhouse smallest 1 mm2\n"
        'house profile "a  b.toml"\njudge voltage-drop off because "it  is"\n'
    )
