"""A part tried at other places: its wires are measured again, and what comes of it is reported."""

from __future__ import annotations

from datetime import date

import pytest
from click.testing import CliRunner

from loomwright.checks.bench.locate import MOST, Located, locate
from loomwright.checks.runner.run import RuleStudy
from loomwright.cli import main
from loomwright.lang.files.reading import read_text
from loomwright.lang.model.harness import Harness
from loomwright.lang.resolve.wires import moved

BIKE = """loom "a lamp at the bars"
system 12 V negative ground
place tray, headstock, bars, shed
place engine wet
route tray headstock 0.6 m
route headstock bars 0.4 m flexing
route tray engine 0.5 m
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray, bars
fuse F 10 A blade at tray
splice SP at headstock
load L lamp at bars { lamp 21 W: 1 2 }
load M lamp at bars { lamp 5 W: 1 2 }
wire 1 BAT.+ to F.1 red 1 mm2 0.15 m
wire 2 F.2 to SP red/blue 1 mm2
wire 3 SP to L.1 red/blue 1 mm2 1.9 m
wire 4 SP to M.1 red/green 1 mm2
wire 5 L.2 to FRAME black 1 mm2 0.2 m
wire 6 M.2 to FRAME black 1 mm2 0.2 m
wire 7 BAT.- to FRAME black 6 mm2 0.2 m
state lit { engine off }
"""


def harness(text: str = BIKE) -> Harness:
    reading = read_text(text, "bike.loom")
    assert [f"{m.span}: {m.message}" for m in reading.mistakes] == []
    return reading.harness


def study(each: Harness) -> RuleStudy:
    return RuleStudy(each, today=date(2026, 6, 1))


def located(text: str = BIKE, **candidates: tuple[str, ...]) -> Located:
    return locate(harness(text), candidates, study)


def test_a_moved_part_has_its_wires_measured_and_all_others_stay() -> None:
    before = harness()
    after = moved(before, {"SP": "tray"})
    lengths = {name: wire.segments[0].length for name, wire in after.wires.items()}
    assert lengths["2"] == pytest.approx(0.15)
    assert lengths["3"] == lengths["4"] == pytest.approx(1.0 * 1.05 + 0.15)  # what was written is for the old place
    assert after.wires["5"] is before.wires["5"]
    assert (after.wires["3"].length, after.wires["4"].segments[0].route) == (None, ("tray", "headstock", "bars"))
    assert after.parts["SP"].place == "tray"
    assert before.parts["SP"].place == "headstock"


def test_the_same_text_with_the_part_written_there_has_the_same_lengths() -> None:
    there = harness(BIKE.replace("SP at headstock", "SP at engine").replace("1.9 m", ""))
    tried = moved(harness(), {"SP": "engine"})
    for name in ("2", "3", "4"):
        one, other = tried.wires[name].segments[0], there.wires[name].segments[0]
        assert (one.length, one.route, one.flexing) == (pytest.approx(other.length), other.route, other.flexing)


def test_places_come_by_copper_and_what_changes_is_told() -> None:
    found = located(SP=("tray", "headstock", "bars", "engine"))
    assert found.now.tried.places == (("SP", "headstock"),)
    assert [each.tried.places[0][1] for each in found.best] == ["bars", "tray", "engine"]
    bars = found.best[0].tried
    assert bars.metres == pytest.approx(0.15 + (1.05 + 0.15) + 0.15 + 0.15 + 0.2 + 0.2 + 0.2)
    assert (bars.steering, bars.longest) == (1, pytest.approx(1.2))
    assert found.best[1].tried.steering == 2
    wet = {finding.rule for finding in found.best[2].new}
    assert "unsealed" in wet
    assert found.now.new == found.now.gone == ()


def test_the_place_as_it_is_counts_with_the_lengths_that_are_written() -> None:
    now = located(SP=("bars",)).now.tried
    measured = 2 * 0.15 + (0.6 + 0.4) * 1.05  # tray to headstock and headstock to bars, wires 2 and 4
    assert now.metres == pytest.approx(0.15 + measured + 1.9 + 0.2 + 0.2 + 0.2)
    assert now.longest == pytest.approx(1.9)


def test_a_place_that_no_routes_reach_comes_last_and_names_its_pieces() -> None:
    found = located(SP=("shed", "tray"))
    assert [each.tried.places[0][1] for each in found.best] == ["tray", "shed"]
    assert found.best[1].tried.unreached == ("2", "3", "4")


def test_kept_wires_that_would_not_reach_are_named() -> None:
    found = located(
        BIKE.replace("wire 4 SP to M.1 red/green 1 mm2", "wire 4 SP to M.1 red/green 1 mm2 kept"), SP=("tray",)
    )
    assert found.best[0].tried.kept == ("4",)


def test_several_parts_together_and_one_by_one() -> None:
    both = located(SP=("tray", "headstock"), F=("tray", "headstock"))
    assert (both.count, both.together) == (3, True)
    places = tuple(f"p{number}" for number in range(101))
    lines = f"place {', '.join(places)}\n" + "".join(f"route tray {place} 1 m\n" for place in places)
    many = located(BIKE + lines, SP=places, F=places)
    assert (len(places) ** 2 > MOST, many.together, many.count) == (True, False, 202)


def test_the_worst_drop_grows_with_the_wire() -> None:
    found = located(F=("tray", "bars"))
    assert found.now.drop is not None
    assert found.best[0].drop is not None
    assert found.best[0].drop > found.now.drop


# --- the command ------------------------------------------------------------------------------------------------------
def test_the_command_shows_a_row_a_place(tmp_path_factory: pytest.TempPathFactory) -> None:
    bike = tmp_path_factory.mktemp("locate") / "bike.loom"
    bike.write_text(BIKE, "utf-8")
    done = CliRunner().invoke(main, ["locate", str(bike), "SP"])
    assert done.exit_code == 0
    lines = done.stdout.split("\n")
    assert lines[0].split() == [
        "wire",
        "copper",
        "longest",
        "piece",
        "across",
        "the",
        "steering",
        "worst",
        "drop",
        "findings",
    ]
    assert lines[1].startswith("SP at headstock (now)")
    assert any(line.startswith("SP at engine: new: unsealed (1)") for line in lines)
    assert "3 places tried" in lines
    assert bike.read_text("utf-8") == BIKE


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("X",), "no part is named 'X'"),
        (("FRAME",), "FRAME is a ground with a stud at each of its places"),
        (("SP", "attic"), "no place is named 'attic'"),
        (("SP", "--with", "X"), "no part is named 'X'"),
    ],
)
def test_what_cannot_be_tried_is_said(
    tmp_path_factory: pytest.TempPathFactory, arguments: tuple[str, ...], said: str
) -> None:
    bike = tmp_path_factory.mktemp("locate") / "bike.loom"
    bike.write_text(BIKE, "utf-8")
    done = CliRunner().invoke(main, ["locate", str(bike), *arguments])
    assert (done.exit_code, said in done.stderr) == (2, True)
