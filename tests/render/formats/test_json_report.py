"""The JSON report: judged by its own published schema, and read back."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

import loomwright.render.formats
from loomwright.checks.findings.finding import Figure, Finding, Level
from loomwright.checks.runner.run import Report
from loomwright.lang.diagnostics.diagnostic import Diagnostic, Note, Span
from loomwright.lang.model.harness import Harness
from loomwright.render.formats import json_report

SCHEMA = json.loads(Path(loomwright.render.formats.__file__).with_name("report.schema.json").read_text("utf-8"))
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)

spans = st.builds(Span, st.text(), st.integers(1), st.integers(1), st.integers(1))
notes = st.lists(st.builds(Note, st.text(), spans), max_size=2).map(tuple)
words = st.lists(st.text(), max_size=3).map(tuple)
mistakes = st.builds(Diagnostic, st.text(), spans, st.text(), st.text(), st.none() | st.text(), st.text(), notes)
findings = st.builds(
    Finding,
    rule=st.text(min_size=1),
    level=st.sampled_from(Level),
    message=st.text(),
    span=spans,
    about=words,
    combination=st.dictionaries(st.text(), st.text(), max_size=3).map(lambda d: tuple(d.items())),
    path=words,
    figures=st.lists(st.builds(Figure, st.text(), st.floats(), st.text()), max_size=2).map(tuple),
    notes=notes,
    waived=st.text(),
)
reports = st.builds(
    Report,
    harness=st.builds(Harness, file=st.text(), title=st.none() | st.text()),
    mistakes=st.lists(mistakes, max_size=2).map(tuple),
    findings=st.lists(findings, max_size=3).map(tuple),
    waived=st.lists(findings, max_size=2).map(tuple),
    accepted=st.lists(findings, max_size=2).map(tuple),
    texts=st.just({}),
)


@given(st.lists(reports, max_size=2), st.booleans())
def test_it_is_what_its_schema_says(made: list[Report], waived: bool) -> None:
    text = json_report.write(made, waived=waived)
    document = json.loads(text)
    VALIDATOR.validate(document)
    assert text.isascii()
    for report, harness in zip(made, document["harnesses"], strict=True):
        for standing in ("findings", "waived", "accepted"):
            assert [row["message"] for row in harness[standing]] == [
                finding.message for finding in sorted(getattr(report, standing), key=lambda finding: finding.order)
            ]
        assert (harness["counts"]["waived"], harness["counts"]["accepted"]) == (
            len(report.waived),
            len(report.accepted),
        )
        assert len(harness["mistakes"]) == harness["counts"]["mistake"] == len(report.mistakes)
        assert sum(harness["counts"][level.word] for level in Level) == len(report.findings)


@given(st.lists(reports, min_size=2, max_size=3))
def test_fingerprints_tell_findings_apart(made: list[Report]) -> None:
    document = json.loads(json_report.write(made, waived=True))
    lists = ("mistakes", "findings", "waived", "accepted")
    prints = [row["fingerprint"] for h in document["harnesses"] for each in lists for row in h[each]]
    assert len(set(prints)) == len(prints)


def test_a_finding_keeps_its_numbers() -> None:
    finding = Finding(
        rule="oversized-fuse",
        level=Level.ERROR,
        message="fuse MAIN lets wire 3 burn",
        span=Span("bike.loom", 3, 6, 7),
        about=("3", "MAIN"),
        combination=(("KEY", "on"),),
        figures=(Figure("exposure", float("inf"), "A"), Figure("ampacity", 19.6, "A")),
    )
    report = Report(harness=Harness(file="bike.loom"), mistakes=(), findings=(finding,), waived=(), texts={})
    (row,) = json.loads(json_report.write([report]))["harnesses"][0]["findings"]
    assert row["figures"] == [
        {"label": "exposure", "value": None, "unit": "A"},
        {"label": "ampacity", "value": 19.6, "unit": "A"},
    ]
    assert row["place"] == {"file": "bike.loom", "line": 3, "column": 6, "end_column": 7}
    assert row["combination"] == {"KEY": "on"}
    assert row["state"] is None


def test_the_schema_itself_is_sound_and_describes_every_field() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    for definition in SCHEMA["$defs"].values():
        if definition["type"] == "object":
            assert set(definition["required"]) == set(definition["properties"])


@pytest.mark.parametrize("field", ["rule", "place", "figures", "fingerprint"])
def test_a_missing_field_is_seen(field: str) -> None:
    finding = Finding(rule="r", level=Level.NOTE, message="m", span=Span("f", 1, 1, 1))
    report = Report(harness=Harness(file="f"), mistakes=(), findings=(finding,), waived=(), texts={})
    document = json.loads(json_report.write([report]))
    del document["harnesses"][0]["findings"][0][field]
    assert not VALIDATOR.is_valid(document)
