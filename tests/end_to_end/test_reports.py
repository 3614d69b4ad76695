"""Reports beside the terminal's, and findings that are known, as CI uses them."""

from __future__ import annotations

import json
from pathlib import Path
from xml.etree import ElementTree

import jsonschema
import pytest
import xmlschema
from click.testing import CliRunner, Result

import loomwright.render.formats
from loomwright.cli import main

SPECS = Path(__file__).resolve().parents[2] / "specs"
SCHEMAS = Path(__file__).resolve().parents[1] / "reference" / "schemas"
FAULTY = (SPECS / "rules" / "short-wire" / "edge-found.loom").read_text(encoding="utf-8")


def run(*arguments: str) -> Result:
    result = CliRunner().invoke(main, arguments, catch_exceptions=False)
    assert "Traceback" not in result.output
    return result


@pytest.fixture
def bike(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A harness with one finding, in a separate folder."""
    monkeypatch.chdir(tmp_path)
    Path("bike.loom").write_text(FAULTY)
    return Path("bike.loom")


# --- reports ----------------------------------------------------------------------------------------------------------
def test_every_format_is_written_beside_the_text(bike: Path) -> None:
    plain = run("check", "bike.loom")
    assert plain.exit_code == 1
    also = [
        word
        for name in ("json", "sarif", "junit", "github", "gitlab", "text")
        for word in ("--also", name, f"out/{name}")
    ]
    result = run("check", "bike.loom", *also)
    assert (result.exit_code, result.stdout) == (plain.exit_code, plain.stdout)
    files = {path.name: path.read_text(encoding="utf-8") for path in Path("out").iterdir()}
    assert files["text"] == plain.stdout
    for name in ("json", "sarif", "junit", "github", "gitlab"):
        assert run("check", "bike.loom", "--format", name).stdout == files[name]
        assert "short-wire" in files[name]
    schema = Path(loomwright.render.formats.__file__).with_name("report.schema.json").read_text(encoding="utf-8")
    jsonschema.validate(json.loads(files["json"]), json.loads(schema))
    oasis = json.loads((SCHEMAS / "sarif-2.1.0.json").read_text(encoding="utf-8"))
    jsonschema.validate(json.loads(files["sarif"]), oasis)
    xmlschema.XMLSchema(str(SCHEMAS / "junit-10.xsd")).validate(files["junit"])
    assert json.loads(files["sarif"])["runs"][0]["results"][0]["locations"][0]["physicalLocation"][
        "artifactLocation"
    ] == {"uri": "bike.loom"}
    assert ElementTree.fromstring(files["junit"]).find("testsuite").get("name") == "bike.loom"  # type: ignore[union-attr]


@pytest.mark.parametrize("name", ["bike.loom", "./bike.loom", "new.loom", "link"])
def test_a_report_never_takes_the_place_of_a_harness(name: str, bike: Path) -> None:
    Path("link").symlink_to("bike.loom")
    result = run("check", "bike.loom", "--also", "json", name)
    assert result.exit_code == 2
    assert "would write over a harness" in result.stderr
    assert bike.read_text() == FAULTY
    assert not Path("new.loom").exists()


@pytest.mark.parametrize("name", [".", "bike.loom/x", "x\x00y"])
def test_a_report_that_cannot_be_written_exits_2(name: str, bike: Path) -> None:
    result = run("check", "bike.loom", "--also", "json", name)
    assert result.exit_code == 2
    assert "cannot be written" in result.stderr
    assert "short-wire" in result.stdout


def test_a_folder_stands_for_its_harnesses_and_not_for_options(bike: Path) -> None:
    Path("options").mkdir()
    Path("options/grips.loom").write_text("wire 9 F.2 to G.1 red\n")
    Path("options/old.loom").write_text('\ufeff  loom "old"\nsystem 6 V positive ground\n')
    document = json.loads(run("check", ".", "--format", "json").stdout)
    assert [each["file"] for each in document["harnesses"]] == ["bike.loom", str(Path("options/old.loom"))]


def test_waived_findings_are_listed_apart_in_json_and_where_asked_for(bike: Path) -> None:
    about = json.loads(run("check", "bike.loom", "--format", "json").stdout)["harnesses"][0]["findings"][0]["about"][0]
    bike.write_text(FAULTY + f'waive short-wire for {about} because "measured with the tank on"\n')
    plain = run("check", "bike.loom")
    assert plain.exit_code == 0
    assert "measured" not in plain.stdout
    assert "1 waived" in plain.stdout
    assert "    waived: measured with the tank on" in run("check", "bike.loom", "--show-waived").stdout
    (harness,) = json.loads(run("check", "bike.loom", "--format", "json").stdout)["harnesses"]
    assert (harness["findings"], [row["waived"] for row in harness["waived"]]) == ([], ["measured with the tank on"])


# --- accepted ---------------------------------------------------------------------------------------------------------
def test_what_is_accepted_does_not_fail_and_what_is_new_does(bike: Path) -> None:
    assert run("check", "bike.loom").exit_code == 1
    made = run("accept", "bike.loom")
    assert (made.exit_code, made.stdout) == (0, "accepted.json: 1 accepted\n")
    known = run("check", "bike.loom", "--accepted", "accepted.json")
    assert known.exit_code == 0
    assert known.stdout.startswith("bike.loom: nothing found, 1 accepted (")
    shown = run("check", "bike.loom", "--accepted", "accepted.json", "--show-waived")
    assert "accepted in accepted.json" in shown.stdout
    bike.write_text("# a line more\n\n" + FAULTY)
    assert run("check", "bike.loom", "--accepted", "accepted.json").exit_code == 0
    bike.write_text(FAULTY + "fuse F-SPARE 5 A at tray\n")
    new = run("check", "bike.loom", "--accepted", "accepted.json", "--fail-on", "note")
    assert new.exit_code == 1
    assert "F-SPARE" in new.stdout
    assert "short-wire" not in new.stdout


def test_what_was_fixed_is_reported_and_does_not_fail(bike: Path) -> None:
    run("accept", "bike.loom")
    bike.write_text((SPECS / "rules" / "short-wire" / "edge-near.loom").read_text(encoding="utf-8"))
    result = run("check", "bike.loom", "--accepted", "accepted.json")
    assert result.exit_code == 0, result.output
    assert "accepted.json:6:1: note: accepted finding is no longer found: " in result.stdout
    assert run("accept", "bike.loom").exit_code == 0
    again = run("check", "bike.loom", "--accepted", "accepted.json")
    assert again.stdout.startswith("bike.loom: nothing found (")


def test_mistakes_are_never_accepted(bike: Path) -> None:
    bike.write_text(FAULTY + "fuse 30A\n")
    result = run("accept", "bike.loom")
    assert result.exit_code == 1
    assert "bike.loom" in result.stderr
    assert "errors in a file are never accepted" in result.stderr
    assert not Path("accepted.json").exists()
    bike.write_text(FAULTY)
    run("accept", "bike.loom")
    bike.write_text(FAULTY + "fuse 30A\n")
    assert run("check", "bike.loom", "--accepted", "accepted.json").exit_code == 1


def test_another_file_is_never_written_over(bike: Path) -> None:
    Path("notes.json").write_text('{"mine": true}')
    for into in ("notes.json", "bike.loom"):
        before = Path(into).read_text()
        assert run("accept", "bike.loom", "--into", into).exit_code == 2
        assert Path(into).read_text() == before
    assert run("accept", "bike.loom", "--into", "new.loom").exit_code == 2
    assert not Path("new.loom").exists()


def test_a_list_that_cannot_be_read_exits_2(bike: Path) -> None:
    result = run("check", "bike.loom", "--accepted", "bike.loom")
    assert result.exit_code == 2
    assert "is no list of accepted" in result.stderr


def test_a_list_that_is_not_there_yet_is_empty_and_said(bike: Path) -> None:
    without = run("check", "bike.loom")
    result = run("check", "bike.loom", "--accepted", "gone.json")
    assert (result.exit_code, result.stdout) == (without.exit_code, without.stdout)
    assert result.stderr == (
        "loomwright: gone.json does not exist yet, so nothing is accepted; `loomwright accept` writes it\n"
    )
    Path("loomwright.toml").write_text('accepted = "gone.json"\n')
    assert run("check", "bike.loom").stderr == "", "a repository may state where its list will be"


def test_a_file_that_is_named_twice_is_reported_once(bike: Path) -> None:
    once = run("check", "bike.loom").stdout
    assert run("check", "bike.loom", "./bike.loom", f"../{Path.cwd().name}/bike.loom", ".").stdout == once
