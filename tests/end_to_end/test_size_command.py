"""`loomwright size`: what it shows, and that writing changes sizes and ratings alone and makes no check worse."""

from __future__ import annotations

import json
import re
import shutil
from datetime import date
from pathlib import Path

import pytest
from click.testing import CliRunner, Result
from outside import some_of
from spec_files import harnesses

from loomwright.checks.runner.run import Report, check
from loomwright.cli import main
from loomwright.lang.files.reading import read_file

SPECS = Path(__file__).resolve().parents[2] / "specs"
GOOD = sorted(
    path.relative_to(SPECS).as_posix()
    for folder in ("", "small")
    for path in harnesses((SPECS / folder).glob("*.loom"))
)
FAULTY = (
    "thin-conductor",
    "thin-return",
    "oversized-fuse",
    "overloaded-fuse",
    "voltage-drop",
    "short-not-cleared",
    "cranking-brownout",
    "house-size",
    "dead-short",
    "wrong-terminal",
)
TODAY = date(2026, 1, 1)

BIKE = """loom "bike"
place tray, tail
route tray tail 0.8 m
source BAT battery at tray { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }
ground FRAME at tray, tail
fuse MAIN blade at tray            # not chosen yet
switch LIGHT 10 A key at tray { off: ; on: 1 2 }
load LAMP lamp at tail { lamp 55 W: 1 2 }
wire 1 BAT.+ to MAIN.1 red 6 mm2 0.15 m   # as it came
wire 2 MAIN.2 to LIGHT.1 red/white 10 AWG 0.1 m
wire 3 LIGHT.2 to LAMP.1 grey
wire 4 LAMP.2 to FRAME 0.1 m
wire 5 BAT.- to FRAME black 6 mm2 0.2 m kept
state lit { LIGHT on }
"""


@pytest.fixture(autouse=True)
def _here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("bike.loom").write_text(BIKE)


def run(*arguments: str, **more: str) -> Result:
    return CliRunner().invoke(main, ["size", *arguments], **more)  # type: ignore[arg-type]


def proposals(file: str, *options: str) -> dict[str, str]:
    document = json.loads(run(file, "--format", "json", *options).stdout)
    wires = {each["name"]: each["proposed"]["text"] for each in document["wires"] if each["changes"]}
    return wires | {each["name"]: f"{each['proposed']:g} A" for each in document["fuses"] if each["changes"]}


def copied(name: str) -> str:
    """A copy of a specification with all that it may use beside it."""
    shutil.copytree(SPECS, "specs", dirs_exist_ok=True)
    return f"specs/{name}"


# --- what it shows ---------------------------------------------------------------------------------------------------
def test_a_table_with_what_decides_and_what_is_there() -> None:
    result = run("bike.loom", "--thinner")
    assert result.exit_code == 0
    rows = {line.split()[0]: line for line in result.stdout.splitlines() if line.strip()}
    assert re.search(r"^1\s+6 mm2\s+1 mm2 \*\s+18 AWG\s+4\.\d+ A\s+4\.\d+ A\s+mechanical: 18 AWG", rows["1"])
    assert re.search(r"^2\s+10 AWG\s+\S+ mm2\s+1\d AWG \*", rows["2"]), "a wire in AWG stays in AWG"
    assert re.search(r"^3\s+-\s+\S+ mm2 \*", rows["3"])
    assert re.search(
        r"^MAIN\s+-\s+7\.5 A\s+7\.5 A \*\s+4\.\d+ A\s+4\.\d+ A\s+4\.68 A continuous, 80 % of its rating at most",
        rows["MAIN"],
    )
    assert "5" not in rows, "what stays as it is is shown with --all"
    assert "profile US boat law" in result.stdout


def test_it_says_who_decides_and_claims_nothing() -> None:
    text = " ".join(run("bike.loom").stdout.split())
    assert "Local codes and a licensed practitioner decide" in text
    assert "no harness is claimed to be safe" in text
    assert json.loads(run("bike.loom", "--format", "json").stdout)["caution"].startswith("Local codes")


def test_all_shows_what_is_kept_and_why() -> None:
    assert re.search(r"^5\s+6 mm2.*\(kept from the old harness\)", run("bike.loom", "--all").stdout, re.MULTILINE)


def test_only_what_is_named() -> None:
    found = json.loads(run("bike.loom", "3", "MAIN", "--format", "json").stdout)
    assert [each["name"] for each in found["wires"]] == ["3"]
    assert [each["name"] for each in found["fuses"]] == ["MAIN"]


def test_figures_are_the_same_whatever_is_asked_for() -> None:
    """Thin wires 2 and 3 would limit the current of wire 1, were they not taken as thick where it is asked alone."""
    thin = BIKE.replace("MAIN blade", "MAIN 10 A blade").replace("10 AWG 0.1 m", "18 AWG 3 m")
    thin = thin.replace("grey", "grey 1 mm2")
    Path("bike.loom").write_text(thin)

    def row(*names: str) -> tuple[float, float, object]:
        found = json.loads(run("bike.loom", *names, "--format", "json").stdout)
        (wire,) = [each for each in found["wires"] if each["name"] == "1"]
        return wire["amps"], wire["held"], wire["needs"]

    assert row("1") == row("1", "3") == row()
    assert row()[0] == pytest.approx(55 / 12.0, rel=0.06), "what the lamp takes, since no copper limits it"


@pytest.mark.parametrize(
    ("name", "ratings", "least"),
    [
        ("stock", {"MAIN": 20, "F-IGN": 10, "F-HEAD": 7.5, "F-TURN": 7.5, "F-STOP": 7.5, "F-TAIL": 5},
         {"MAIN": 20, "F-IGN": 7.5, "F-HEAD": 7.5, "F-TURN": 5, "F-STOP": 5, "F-TAIL": 3}),
        ("rebuild", {"MAIN": 25, "F-KEY": 10, "F-CTRL": 7.5}, {"MAIN": 20, "F-KEY": 7.5, "F-CTRL": 7.5}),
    ],
)  # fmt: skip
def test_the_least_rating_is_shown_whether_it_is_proposed_or_not(
    name: str, ratings: dict[str, float], least: dict[str, float]
) -> None:
    file = copied(f"{name}.loom")
    for options, proposed in (((), ratings), (("--thinner",), least)):
        fuses = json.loads(run(file, *options, "--format", "json").stdout)["fuses"]
        assert {each["name"]: each["present"] for each in fuses} == ratings
        assert {each["name"]: each["least"] for each in fuses} == least
        assert {each["name"]: each["proposed"] for each in fuses} == proposed
    table = run(file, "--all").stdout
    assert re.search(r"^fuse +has +least +proposed +continuous", table, re.MULTILINE)
    first = next(each for each in ratings if least[each] < ratings[each])
    row = rf"^{first} +{ratings[first]:g} A +{least[first]:g} A +{ratings[first]:g} A +\d"
    assert re.search(row, table, re.MULTILINE), "it has more than the least, and keeps it"
    assert re.search(rf"^{first} .*{least[first]:g} A \* ", run(file, "--thinner").stdout, re.MULTILINE)


def test_a_fuse_that_cannot_be_chosen_shows_no_least_rating() -> None:
    Path("bike.loom").write_text(BIKE.replace("fuse MAIN blade at tray", "fuse MAIN 40 A blade at tray kept"))
    (fuse,) = json.loads(run("bike.loom", "--all", "--format", "json").stdout)["fuses"]
    assert (fuse["least"], fuse["proposed"], fuse["left"]) == (None, 40, "kept from the old harness")


@pytest.mark.parametrize(
    ("cover", "lamp", "says"),
    [
        ("", "55 W", "18 AWG as in a sheath, 33 CFR 183.425"),
        (" loose", "55 W", "18 AWG as in a sheath, 33 CFR 183.425"),
        (" braid", "55 W", "18 AWG in a sheath, 33 CFR 183.425"),
        (" tape", "55 W", "18 AWG in a sheath, 33 CFR 183.425"),
        (" braid", "5 W", "under 1 A, 0.35 mm2 (Loomwright's limit)"),
    ],
)
def test_the_least_size_is_said_as_what_it_was_taken_for(cover: str, lamp: str, says: str) -> None:
    text = BIKE.replace("route tray tail 0.8 m", f"route tray tail 0.8 m{cover}").replace("55 W", lamp)
    Path("bike.loom").write_text(text)
    wires = {each["name"]: each for each in json.loads(run("bike.loom", "--format", "json").stdout)["wires"]}
    needs = {name: next(n["says"] for n in wires[name]["needs"] if n["reason"] == "mechanical") for name in ("1", "3")}
    assert needs["3"] == says
    assert needs["1"] == says.replace("AWG in", "AWG as in"), "it stays in its place, where no cover is written"
    assert "signal" not in run("bike.loom", "--all").stdout
    caution = " ".join(run("bike.loom").stdout.split())
    assert (
        "Under 1 A the law exempts only wires of electronics; of all others that least size is Loomwright's" in caution
    )


def test_a_name_that_there_is_not() -> None:
    result = run("bike.loom", "33")
    assert result.exit_code == 2
    assert "no wire or fuse of bike.loom is named '33'" in result.stderr
    assert run("bike.loom", "LAMP").exit_code == 2


def test_json_tells_every_reason() -> None:
    document = json.loads(run("bike.loom", "--format", "json").stdout)
    (first,) = [each for each in document["wires"] if each["name"] == "1"]
    assert {need["reason"] for need in first["needs"]} >= {"mechanical", "current", "fuse"}
    assert first["present"] == {"text": "6 mm2", "mm2": 6.0}
    assert first["decides"]["says"] == "18 AWG as in a sheath, 33 CFR 183.425"
    assert document["version"] == 1


def test_what_is_not_known_is_said_and_never_made_thinner() -> None:
    Path("bike.loom").write_text(BIKE.replace("lamp 55 W", "lamp"))
    document = json.loads(run("bike.loom", "--format", "json").stdout)
    rows = {each["name"]: each for each in document["wires"]}
    assert rows["1"]["decides"]["reason"] == "unknown"
    assert rows["1"]["decides"]["says"] == "what LAMP.lamp takes is not known: its rating is not written"
    assert not rows["1"]["changes"]
    assert rows["3"]["short_of"].startswith("no size does: what LAMP.lamp takes is not known")
    assert not rows["3"]["changes"]
    assert [each["left"] for each in document["fuses"]] == ["its current is not known"]


def test_the_house_and_the_profile_are_asked() -> None:
    Path("bike.loom").write_text(BIKE + "house smallest 2.5 mm2\nhouse profile boat-law-3-percent\n")
    result = run("bike.loom")
    assert "the shop's smallest, 2.5 mm2" in result.stdout
    assert "profile US boat law (used for want of one for motorcycles), 3 % drop" in result.stdout
    assert "profile aircraft practice" in run("bike.loom", "--profile", "aircraft").stdout
    assert run("bike.loom", "--profile", "aircaft").exit_code == 2


def test_standard_input_is_read_and_never_written() -> None:
    assert "1 mm2 *" in run("-", "--thinner", input=BIKE).stdout
    assert run("-", "--write", input=BIKE).exit_code == 2


def test_mistakes_in_the_text_come_first() -> None:
    Path("bike.loom").write_text(BIKE + "wire 9 NOWHERE.1 to FRAME\n")
    result = run("bike.loom", "--write")
    assert result.exit_code == 1
    assert "no part is named `NOWHERE`" in result.stderr
    assert Path("bike.loom").read_text().startswith(BIKE)


def test_nothing_is_changed_by_looking() -> None:
    before = Path("bike.loom").stat()
    run("bike.loom", "--all")
    assert Path("bike.loom").read_text() == BIKE
    assert Path("bike.loom").stat().st_mtime_ns == before.st_mtime_ns


# --- what it writes --------------------------------------------------------------------------------------------------
def test_just_the_sizes_and_ratings_are_written() -> None:
    result = run("bike.loom", "--write", "--thinner")
    assert result.exit_code == 0
    assert result.stderr == "bike.loom: written\n"
    after = Path("bike.loom").read_text().splitlines()
    for line, (old, new) in enumerate(zip(BIKE.splitlines(), after, strict=True), 1):
        if line not in (6, 9, 10, 11, 12):
            assert new == old
    assert after[5] == "fuse MAIN 7.5 A blade at tray            # not chosen yet"
    assert after[8] == "wire 1 BAT.+ to MAIN.1 red 1 mm2 0.15 m   # as it came"
    assert re.fullmatch(r"wire 2 MAIN\.2 to LIGHT\.1 red/white 1\d AWG 0\.1 m", after[9])
    assert re.fullmatch(r"wire 3 LIGHT\.2 to LAMP\.1 grey [\d.]+ mm2", after[10])
    assert re.fullmatch(r"wire 4 LAMP\.2 to FRAME [\d.]+ mm2 0\.1 m", after[11])
    assert proposals("bike.loom", "--thinner") == {}
    again = run("bike.loom", "--write", "--thinner")
    assert (again.exit_code, again.stderr) == (0, "")


def test_only_what_is_named_is_written() -> None:
    run("bike.loom", "2", "--write", "--thinner")
    pairs = zip(BIKE.splitlines(), Path("bike.loom").read_text().splitlines(), strict=True)
    changed = [line for line, (old, new) in enumerate(pairs, 1) if old != new]
    assert changed == [10]


def test_each_file_that_is_used_gets_its_own() -> None:
    lines = BIKE.splitlines()
    Path("shared").mkdir()
    Path("shared/lamp.loom").write_bytes(("\r\n".join(lines[7:8] + lines[10:12]) + "\r\n").encode())
    rest = [line for n, line in enumerate(lines) if n not in (7, 10, 11)]
    Path("bike.loom").write_text("\n".join([*rest, 'use "shared/lamp.loom"']))
    result = run("bike.loom", "--write")
    assert result.stderr == "bike.loom: written\nshared/lamp.loom: written\n"
    assert not Path("bike.loom").read_text().endswith("\n")
    used = Path("shared/lamp.loom").read_bytes()
    assert used.count(b"\r\n") == 3
    assert re.search(rb"grey [\d.]+ mm2\r\n", used)
    assert proposals("bike.loom") == {}


def test_a_file_that_cannot_be_written_is_status_2_and_what_it_was(monkeypatch: pytest.MonkeyPatch) -> None:
    from loomwright.lang.editing import resize as resizing

    def refuse(path: Path, data: bytes, *, was: bytes | None = None) -> None:
        raise PermissionError(13, "permission to write it is missing", str(path))

    monkeypatch.setattr(resizing, "replace_file", refuse)
    result = run("bike.loom", "--write")
    assert result.exit_code == 2
    assert "bike.loom: cannot be written: permission to write it is missing" in result.stderr
    assert Path("bike.loom").read_text() == BIKE


def test_a_fuse_whose_rating_is_its_patterns_is_left_alone() -> None:
    Path("bike.loom").write_text(
        BIKE.replace("fuse MAIN blade at tray", "pattern fuse blade-30 30 A blade\nfuse MAIN at tray as blade-30")
    )
    document = json.loads(run("bike.loom", "--format", "json").stdout)
    assert [(each["changes"], each["left"]) for each in document["fuses"]] == [
        (False, "its pattern blade-30 may say its rating")
    ]


def graver(before: Report, after: Report) -> list[str]:
    """What a check finds after that it did not find before, or finds worse."""
    known: dict[tuple[str, str, int], int] = {}
    for finding in before.findings:
        place = (finding.rule, finding.span.file, finding.span.line)
        known[place] = max(known.get(place, -1), finding.level)
    return [
        f"{finding.rule}: {finding.message}"
        for finding in after.findings
        if finding.level > known.get((finding.rule, finding.span.file, finding.span.line), -1)
    ]


@pytest.mark.parametrize("options", [(), ("--thinner",)], ids=["", "thinner"])
@pytest.mark.parametrize("name", some_of([*GOOD, *(f"rules/{rule}/edge-found.loom" for rule in FAULTY)], 4))
def test_writing_makes_no_check_worse_and_a_second_one_changes_nothing(name: str, options: tuple[str, ...]) -> None:
    file = copied(name)
    before = check(read_file(file), today=TODAY)
    old = Path(file).read_text()
    result = run(file, "--write", "--today", TODAY.isoformat(), *options)
    assert result.exit_code == 0, result.output
    assert graver(before, check(read_file(file), today=TODAY)) == []
    assert proposals(file, *options) == {}
    kept = {name for name, wire in read_file(f"{SPECS}/{name}").harness.wires.items() if wire.kept}
    for one, other in zip(old.splitlines(), Path(file).read_text().splitlines(), strict=True):
        if one != other:
            assert one.split()[0] in ("wire", "fuse")
            assert one.split()[1] not in kept


@pytest.mark.parametrize("rule", ["thin-conductor", "thin-return", "oversized-fuse", "overloaded-fuse", "house-size"])
def test_writing_fixes_what_is_a_matter_of_size(rule: str) -> None:
    file = copied(f"rules/{rule}/edge-found.loom")
    assert rule in {f.rule for f in check(read_file(file), today=TODAY).findings}
    run(file, "--write")
    assert rule not in {f.rule for f in check(read_file(file), today=TODAY).findings}


# --- what it leaves alone ---------------------------------------------------------------------------------------------
@pytest.mark.parametrize("name", GOOD)
def test_a_sound_harness_stays_as_it_is(name: str) -> None:
    """Copper that is there is margin: nobody asked for less of it."""
    assert proposals(copied(name)) == {}


def test_a_smaller_fuse_comes_before_a_thicker_wire() -> None:
    """40 A would need 6 mm2 of class A at 40 degC; the lamp's 3.9 A go through 15 A just as well, the most that 1 mm2
    carries at a warning share of 1 (33 CFR 183.425 table 5: 18 AWG 15 A at 30 degC, less at 40: so 10 A).
    """
    Path("bike.loom").write_text(BIKE.replace("fuse MAIN blade", "fuse MAIN 40 A blade").replace("grey", "grey 1 mm2"))
    found = proposals("bike.loom")
    assert found["MAIN"] == "10 A"
    assert "3" not in found, "with the smaller fuse the wire is thick enough"


def test_a_fuse_that_carries_too_little_gets_larger_and_says_why() -> None:
    Path("bike.loom").write_text(BIKE.replace("fuse MAIN blade", "fuse MAIN 3 A blade"))
    assert proposals("bike.loom")["MAIN"] == "7.5 A"


TOO_MUCH = BIKE.replace("fuse MAIN blade", "fuse MAIN 40 A blade").replace("grey", "grey 1 mm2")


@pytest.mark.parametrize("name", ["MAIN", "3"])
def test_what_is_waived_is_not_asked_for(name: str) -> None:
    """1 mm2 behind 40 A: somebody has a reason, for the fuse or for the wire, and says it."""
    Path("bike.loom").write_text(TOO_MUCH)
    assert "MAIN" in proposals("bike.loom")
    waived = TOO_MUCH + f'waive oversized-fuse for {name} because "tried, stays cold"\n'
    Path("bike.loom").write_text(waived)
    assert name not in proposals("bike.loom")
    Path("bike.loom").write_text(waived.replace('cold"', 'cold" until 2020-01-01'))
    assert "MAIN" in proposals("bike.loom"), "a waiver past its day counts for nothing"


def test_leads_of_battery_starter_and_engine_ground_are_no_thinner_than_the_main_feed() -> None:
    """The main feed is wire 1; 6 and 7 are the battery's grounds, 21 and 22 feed the starter."""
    found = json.loads(run(copied("small/electric-start.loom"), "--thinner", "--all", "--format", "json").stdout)
    rows = {each["name"]: each for each in found["wires"]}
    assert {name for name, row in rows.items() if any(n["reason"] == "main lead" for n in row["needs"])} == {
        "6", "7", "21", "22",
    }  # fmt: skip
    assert rows["1"]["proposed"]["mm2"] == 2.5
    assert min(rows[name]["proposed"]["mm2"] for name in ("6", "7", "21", "22")) >= 2.5


def test_what_is_printed_is_what_is_written_with_the_reason_for_it(tmp_path: Path) -> None:
    """A dead short that MAIN does not clear: the table has a star at each size that ``--write`` then writes."""
    target = tmp_path / "short.loom"
    target.write_text((SPECS / "rules" / "short-not-cleared" / "bad.loom").read_text("utf-8"), "utf-8")
    shown = CliRunner().invoke(main, ["size", str(target)]).output
    starred = dict(re.findall(r"^(\S+) +.*?([\d.]+ mm2) \*.*dead short: MAIN must open within 5 s", shown, re.M))
    assert len(starred) > 1
    before = read_file(target).harness.wires
    CliRunner().invoke(main, ["size", str(target), "--write"])
    after = read_file(target).harness.wires
    changed = {name: wire.size.text for name, wire in after.items() if wire.size and wire.size != before[name].size}
    assert changed == starred


def test_without_a_battery_none_is_spoken_of() -> None:
    file = Path(__file__).parents[2] / "specs" / "small" / "capacitor-single.loom"
    found = CliRunner().invoke(main, ["size", str(file)]).output
    assert "- not checked for dead shorts: there is no battery\n" in found
