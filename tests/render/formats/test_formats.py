"""What machines read: judged by the published schemas, and by what the hosts ask beyond them."""

from __future__ import annotations

import json
import re
from pathlib import Path
from xml.etree import ElementTree

import jsonschema
import pytest
import xmlschema
from hypothesis import given
from hypothesis import strategies as st

from loomwright.checks.findings.finding import Figure, Finding, Level
from loomwright.checks.runner.run import Report
from loomwright.lang.diagnostics.diagnostic import Diagnostic, Note, Span
from loomwright.lang.files.uri import uri
from loomwright.lang.model.harness import Harness
from loomwright.render.formats import annotations, code_quality, junit, sarif
from loomwright.render.formats.entries import entries, number

SCHEMAS = Path(__file__).parents[2] / "reference" / "schemas"


def span(line: int, file: str = "bikes/twin.loom") -> Span:
    return Span(file, line, 6, 8)


def unfused(line: int = 12, **more: object) -> Finding:
    return Finding(
        rule="unfused-feed",
        level=Level.ERROR,
        message="wire 1 runs 0.6 m from the battery and no fuse limits it",
        span=span(line),
        about=("1", "BAT"),
        path=("BAT", "wire 1", "MAIN"),
        figures=(Figure("distance from the feed pole", 0.6, "m"),),
        source="33 CFR 183.455",
        remedy="put a fuse within 0.178 m of the battery",
        notes=(Note("the battery is here", span(3)),),
        **more,  # type: ignore[arg-type]
    )


def report(*findings: Finding, mistakes: tuple[Diagnostic, ...] = (), waived: tuple[Finding, ...] = ()) -> Report:
    return Report(
        harness=Harness(file="bikes/twin.loom"), mistakes=mistakes, findings=findings, waived=waived, texts={}
    )


MISTAKE = Diagnostic(
    "unknown-word", span(4), "'batery' is no word for a source", "battery, alternator", nearest="battery"
)
WAIVED = unfused(20, waived="starter cable, short and sleeved")
NOTE = Finding(rule="unused-part", level=Level.NOTE, message="SP9 is not connected", span=span(30), about=("SP9",))
ALL = [report(unfused(), NOTE, waived=(WAIVED,)), report(mistakes=(MISTAKE,))]


def sarif_schema() -> jsonschema.protocols.Validator:
    schema = json.loads((SCHEMAS / "sarif-2.1.0.json").read_text(encoding="utf-8"))
    return jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker())


@pytest.mark.parametrize("waived", [False, True])
def test_sarif_is_valid_by_the_oasis_schema(waived: bool) -> None:
    sarif_schema().validate(json.loads(sarif.write(ALL, waived=waived)))


def test_the_schema_would_notice() -> None:
    log = json.loads(sarif.write(ALL))
    log["runs"][0]["results"][0]["level"] = "fatal"
    with pytest.raises(jsonschema.ValidationError):
        sarif_schema().validate(log)


def test_sarif_has_what_code_hosts_require_beyond_the_schema() -> None:
    """GitHub, "SARIF support for code scanning": the properties it calls required, none of them empty."""
    log = json.loads(sarif.write(ALL))
    (run,) = log["runs"]
    assert log["$schema"]
    assert run["columnKind"] == "unicodeCodePoints"  # SARIF 2.1.0 section 3.14.27
    for rule in run["tool"]["driver"]["rules"]:
        assert rule["id"]
        assert 0 < len(rule["shortDescription"]["text"]) <= 1024
        assert 0 < len(rule["fullDescription"]["text"]) <= 1024
        assert rule["help"]["text"]
        assert len(rule["properties"]["tags"]) == len(set(rule["properties"]["tags"])) <= 10
        assert "security-severity" not in rule["properties"]
    for result in run["results"]:
        assert result["message"]["text"]
        region = result["locations"][0]["physicalLocation"]["region"]
        assert region["startLine"] >= 1
        assert region["endColumn"] > region["startColumn"] >= 1
        assert not result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"].startswith(("/", "./"))
        assert result["partialFingerprints"]["primaryLocationLineHash"]
        assert run["tool"]["driver"]["rules"][result["ruleIndex"]]["id"] == result["ruleId"]


def test_waived_findings_are_left_out_of_sarif_unless_asked_for() -> None:
    assert "suppressions" not in sarif.write(ALL)
    shown = json.loads(sarif.write(ALL, waived=True))["runs"][0]["results"]
    (suppressed,) = [result for result in shown if "suppressions" in result]
    assert suppressed["suppressions"][0]["justification"] == "starter cable, short and sleeved"


def test_a_fingerprint_survives_moved_lines_and_new_figures_and_tells_twins_apart() -> None:
    here, moved = entries([report(unfused(12))])[0], entries([report(unfused(40))])[0]
    assert here.fingerprint == moved.fingerprint
    twins = entries([report(unfused(12), unfused(13))])
    assert twins[0].fingerprint != twins[1].fingerprint
    other = Finding(rule="unfused-feed", level=Level.ERROR, message="x", span=span(12), about=("2",))
    assert entries([report(other)])[0].fingerprint != here.fingerprint


@pytest.mark.parametrize("reports", [ALL, [report()], [report(NOTE)]])
def test_junit_is_valid_by_the_xunit_schema_and_never_empty(reports: list[Report]) -> None:
    text = junit.write(reports, waived=True)
    xmlschema.XMLSchema(str(SCHEMAS / "junit-10.xsd")).validate(text)
    names = [case.get("name") for case in ElementTree.fromstring(text).iter("testcase")]
    assert names
    assert len(names) == len(set(names)), "hosts merge test cases of one name"


def test_a_junit_case_keeps_its_name_where_lines_have_moved() -> None:
    def names(line: int) -> list[str | None]:
        return [
            case.get("name") for case in ElementTree.fromstring(junit.write([report(unfused(line))])).iter("testcase")
        ]

    assert names(12) == names(40)
    assert re.fullmatch(r"unfused-feed in bikes/twin\.loom \([0-9a-f]{8}\)", str(names(12)[0]))


def test_junit_fails_for_errors_and_warnings_only() -> None:
    root = ElementTree.fromstring(junit.write([report(unfused(), NOTE, waived=(WAIVED,))], waived=True))
    assert [failure.get("type") for failure in root.iter("failure")] == ["error"]
    assert "SP9" in (root.findtext("testsuite/system-out") or "")
    assert root.find("testsuite").get("tests") == "1"  # type: ignore[union-attr]


def test_workflow_commands_escape_what_the_host_would_read_as_its_own() -> None:
    """Escapes by the host's own tool kit: % CR LF in data, : and , in properties too."""
    odd = Finding(rule="short-wire", level=Level.WARNING, message="100 % of\nit", span=span(2, "a,b:c.loom"))
    line = annotations.write([report(odd, unfused(), NOTE)]).splitlines()
    assert line[0].startswith("::error file=bikes/twin.loom,line=12,endLine=12,col=6,endColumn=8,title=unfused-feed::")
    assert line[1].startswith("::warning file=a%2Cb%3Ac.loom,")
    assert line[1].endswith("::100 %25 of%0Ait")
    assert line[2].startswith("::notice ")


def test_code_quality_has_unique_fingerprints_and_relative_paths() -> None:
    rows = json.loads(code_quality.write(ALL))
    assert len({row["fingerprint"] for row in rows}) == len(rows) == 3
    assert {row["severity"] for row in rows} == {"critical", "info"}
    assert all(set(row) == {"description", "check_name", "fingerprint", "severity", "location"} for row in rows)
    assert rows[0]["location"] == {"path": "bikes/twin.loom", "lines": {"begin": 12}}


@given(st.text(min_size=1, max_size=12), st.text(min_size=1, max_size=8))
def test_any_text_at_all_gives_valid_output(message: str, file: str) -> None:
    found = [report(Finding(rule="short-wire", level=Level.WARNING, message=message, span=Span(file, 1, 1, 2)))]
    sarif_schema().validate(json.loads(sarif.write(found)))
    ElementTree.fromstring(junit.write(found))
    json.loads(code_quality.write(found))
    assert annotations.write(found).count("\n") == 1


def test_an_uri_is_relative_and_percent_encoded(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.chdir(tmp_path)
    assert uri("./my bike/twin#1.loom") == "my%20bike/twin%231.loom"
    assert uri(str(tmp_path / "twin.loom")) == "twin.loom"
    assert uri("/elsewhere/twin.loom") == "file:///elsewhere/twin.loom"
    assert uri("parts/../twin.loom") == uri(f"{tmp_path}/parts/./../twin.loom") == "twin.loom"


def test_an_annotation_names_its_file_as_the_host_does(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.chdir(tmp_path)
    found = Finding(rule="short-wire", level=Level.WARNING, message="m", span=span(2, f"{tmp_path}/x/../my bike.loom"))
    assert annotations.write([report(found)]).startswith("::warning file=my bike.loom,line=2,")


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (0.0, "0"),
        (12.345, "12.3"),
        (1234.6, "1,235"),
        (1.797e308, f"{1.797e308:,.0f}"),
        (0.00123456, "0.00123"),
        (20.0, "20"),
        (float("inf"), "unlimited"),
    ],
)
def test_a_figure_is_shown_with_three_digits(value: float, text: str) -> None:
    assert number(value) == text
