"""The list of accepted findings: what is known stays quiet, and nothing else does."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.checks.findings.finding import Finding, Level
from loomwright.checks.runner.baseline import NoBaselineError, new_baseline, read_baseline, without_accepted
from loomwright.checks.runner.run import Report
from loomwright.lang.diagnostics.diagnostic import Diagnostic, Span
from loomwright.lang.model.harness import Harness
from loomwright.render.formats import sarif


def finding(rule: str = "short-wire", about: str = "3", level: Level = Level.WARNING, line: int = 3) -> Finding:
    return Finding(
        rule=rule, level=level, message=f"wire {about} is short", span=Span("bike.loom", line, 1, 4), about=(about,)
    )


def report(*findings: Finding, file: str = "bike.loom") -> Report:
    return Report(harness=Harness(file=file), mistakes=(), findings=findings, waived=(), texts={})


@pytest.fixture
def written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """A list in which wire 3 and wire 4 are known to be short."""
    monkeypatch.chdir(tmp_path)
    made = new_baseline([report(finding(), finding(about="4"))], "accepted.json", {})
    assert (made.accepted, made.refused) == (2, ())
    Path("accepted.json").write_text(made.text)
    return "accepted.json"


def after(found: Report, file: str) -> Report:
    return without_accepted(found, read_baseline(file), file)


def test_what_is_known_does_not_count(written: str) -> None:
    found = after(report(finding(line=99), finding(about="4")), written)
    assert found.findings == ()
    assert [each.waived for each in found.accepted] == ["accepted in accepted.json"] * 2
    assert found.worst is None


def test_what_is_new_counts(written: str) -> None:
    new = finding(about="5")
    found = after(report(finding(), finding(about="4"), new), written)
    assert found.findings == (new,)


def test_a_twin_of_something_known_is_new(written: str) -> None:
    found = after(report(finding(), finding(line=7), finding(about="4")), written)
    assert [(each.about, each.span.line) for each in found.findings] == [(("3",), 7)]


def test_what_became_graver_counts_again(written: str) -> None:
    found = after(report(finding(level=Level.ERROR), finding(about="4", level=Level.NOTE)), written)
    (worse,) = found.findings
    assert worse.level is Level.ERROR
    assert [note.text for note in worse.notes] == ["accepted as a warning, more severe now"]
    assert len(found.accepted) == 1


def test_what_is_not_found_any_more_is_a_note_where_the_list_has_it(written: str) -> None:
    found = after(report(finding()), written)
    (idle,) = found.findings
    assert (idle.rule, idle.level) == ("idle-acceptance", Level.NOTE)
    line = Path(written).read_text().splitlines()[idle.span.line - 1]
    assert idle.span.file == "accepted.json"
    assert '"about": ["4"]' in line
    log = json.loads(sarif.write([found]))["runs"][0]
    (result,) = log["results"]
    assert log["tool"]["driver"]["rules"][result["ruleIndex"]]["id"] == "idle-acceptance"


def test_another_harness_is_another_matter(written: str) -> None:
    """The list is of a file: what it says of one does not hold for another, nor is it idle when that is not checked."""
    other = replace(finding(), span=Span("other.loom", 3, 1, 4))
    found = after(report(other, file="other.loom"), written)
    assert found.findings == (other,)


def test_the_folder_from_which_it_is_asked_does_not_matter(written: str, monkeypatch: pytest.MonkeyPatch) -> None:
    Path("below").mkdir()
    monkeypatch.chdir("below")
    far = replace(finding(), span=Span("../bike.loom", 3, 1, 4))
    found = after(report(far, file="../bike.loom"), "../accepted.json")
    assert len(found.accepted) == 1
    absolute = str(Path("../bike.loom").resolve())
    far = replace(finding(), span=Span(absolute, 3, 1, 4))
    assert len(after(report(far, file=absolute), "../accepted.json").accepted) == 1


def test_the_list_names_no_folder_of_the_machine(tmp_path: Path) -> None:
    file = str(tmp_path / "bikes" / "bike.loom")
    made = new_baseline(
        [report(replace(finding(), span=Span(file, 3, 1, 4)), file=file)], str(tmp_path / "list.json"), {}
    )
    assert str(tmp_path) not in made.text
    assert '"bikes/bike.loom"' in made.text


def test_mistakes_are_never_accepted(written: str) -> None:
    wrong = Diagnostic("unknown-word", Span("bike.loom", 3, 1, 2), "x")
    found = replace(report(), mistakes=(wrong,))
    assert after(found, written) == found
    assert new_baseline([found], written, {}).accepted == 0


def test_a_rule_that_broke_down_is_never_accepted(written: str) -> None:
    broken = replace(finding(), outcome="not-checked")
    made = new_baseline([report(broken)], written, {})
    assert (made.accepted, made.refused) == (0, (broken,))
    assert broken in after(report(broken, finding(about="4")), written).findings


def test_what_is_waived_needs_no_acceptance() -> None:
    found = replace(report(), waived=(replace(finding(), waived="why"),))
    assert new_baseline([found], "accepted.json", {}).accepted == 0


def test_writing_it_anew_keeps_what_it_says_of_others(written: str) -> None:
    other = report(replace(finding(), span=Span("b.loom", 1, 1, 2)), file="b.loom")
    both = new_baseline([other], written, read_baseline(written)).text
    Path(written).write_text(both)
    assert set(read_baseline(written)) == {"b.loom", "bike.loom"}
    assert new_baseline([other], written, read_baseline(written)).text == both
    fixed = new_baseline([report()], written, read_baseline(written)).text
    assert list(json.loads(fixed)["harnesses"]) == ["b.loom"]


@given(st.permutations([finding(about=str(number), line=number + 1) for number in range(5)]))
def test_the_list_has_one_finding_a_line_in_one_order(found: list[Finding]) -> None:
    made = new_baseline([report(*found)], "accepted.json", {}).text
    rows = [line for line in made.splitlines() if "fingerprint" in line]
    assert len(rows) == 5
    assert rows == sorted(rows, key=lambda row: json.loads(row.strip().rstrip(","))["about"])
    less = new_baseline([report(*found[1:])], "accepted.json", {}).text
    assert len(set(made.splitlines()) - set(less.splitlines())) <= 2
    assert made.endswith("}\n")


ROW = {"rule": "r", "level": "note", "about": [], "message": "m", "fingerprint": "f"}


def _list(rows: list[object]) -> bytes:
    return json.dumps({"format": "loomwright-accepted", "version": 1, "harnesses": {"a.loom": rows}}).encode()


def test_a_list_is_read(tmp_path: Path) -> None:
    (tmp_path / "accepted.json").write_bytes(_list([ROW]))
    assert len(read_baseline(str(tmp_path / "accepted.json"))["a.loom"]) == 1


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (b"", "is no list"),
        (b"[]", "has no"),
        (b"{" * 100_000, "is no list"),
        (b"[" * 100_000, "is no list"),
        (b"\xff", "is no list"),
        (b'{"format": "other"}', "has no"),
        (b'{"format": "loomwright-accepted", "version": 2}', "another version"),
        (b'{"format": "loomwright-accepted", "version": 1}', "damaged"),
        (b'{"format": "loomwright-accepted", "version": 1, "harnesses": []}', "damaged"),
        (b'{"format": "loomwright-accepted", "version": 1, "harnesses": {"a": [{}]}}', "damaged"),
        (_list([{**ROW, "level": "fatal"}]), "damaged"),
        (_list([{**ROW, "about": 3}]), "damaged"),
        (_list(["row"]), "damaged"),
    ],
)
def test_what_is_no_such_list_is_refused(text: bytes, says: str, tmp_path: Path) -> None:
    path = tmp_path / "accepted.json"
    path.write_bytes(text)
    with pytest.raises(NoBaselineError, match=says):
        read_baseline(str(path))
