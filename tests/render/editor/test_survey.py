"""A survey in the editor: its mistakes, what can be typed, what a half is, and its layout."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from loomwright.render.editor.formatting import tidied
from loomwright.render.editor.survey import SurveyInEditor
from loomwright.render.editor.workspace import Workspace

SPECS = Path(__file__).parents[3] / "specs"
SURVEY = """survey "S" of "bike.loom" at tail
half P1 gy pk bk
half P2 at headlamp bu/bk bu/wh bk
knob SW of P1 up down
beeps P1.3 P2.3 FRAME
"""


@pytest.fixture
def workspace(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Workspace:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "bike.loom").write_text((SPECS / "small" / "points-single.loom").read_text())
    return Workspace(lambda: date(2026, 1, 1))


def opened(workspace: Workspace, text: str) -> SurveyInEditor:
    path = str(Path("survey.loom").absolute())
    workspace.put(path, text)
    known = workspace.understood(path)
    assert not known.sound  # no rule is ever asked of a survey
    assert known.surveyed is not None
    return known.surveyed


def offered(workspace: Workspace, line: str) -> list[str]:
    text = f"{SURVEY}{line}"
    found = opened(workspace, text).completion(text.count("\n") + 1, len(line) + 1)
    assert found.column == len(line) + 1 - len(line.rsplit(" ", 1)[-1] if not line.endswith((" ", ",", ":")) else "")
    return [offer.text for offer in found.offers]


def test_mistakes_are_underlined_and_nothing_is_said_of_rules(workspace: Workspace) -> None:
    path = str(Path("survey.loom").absolute())
    surveyed = opened(workspace, f"{SURVEY}half P3 rde\n")
    found = surveyed.problems(workspace.understood(path).reading)
    assert [(each.span.line, each.code, each.level) for each in found] == [(6, "unknown-colour", "error")]
    assert opened(workspace, SURVEY).problems(workspace.understood(path).reading) == ()


def test_a_diagram_with_mistakes_is_told_on_the_first_line(workspace: Workspace) -> None:
    diagram = Path("bike.loom")
    diagram.write_text(diagram.read_text().replace("wire 24 ", "wyre 24 "))
    path = str(Path("survey.loom").absolute())
    (found,) = opened(workspace, SURVEY).problems(workspace.understood(path).reading)
    assert (found.span.line, found.level) == (1, "warning")
    assert "has mistakes: what was understood of it is used" in found.message


def test_the_diagram_is_read_again_only_when_it_has_changed(workspace: Workspace) -> None:
    first = opened(workspace, SURVEY).reading.diagram
    assert opened(workspace, f"{SURVEY}half P3 rd\n").reading.diagram is first
    diagram = Path("bike.loom")
    diagram.write_text(f"{diagram.read_text()}# more\n")
    assert opened(workspace, f"{SURVEY}half P3 bk\n").reading.diagram is not first


@pytest.mark.parametrize(
    ("line", "some"),
    [
        ("", {"half", "beeps", "touched", "P1.1", "FRAME"}),
        ("half P9 ", {"og", "orange", "socket", "mates", "at"}),
        ("half P9 rd o", {"og", "orange"}),
        ("half P9 at ", {"saddle", "headlamp"}),
        ("half P9 mates ", {"P1", "P2"}),
        ("beeps ", {"P1.1", "P2.3", "FRAME", "ENGINE"}),
        ("beeps P1.1 P1.2 with ", {"KEY", "LIGHTS", "SW"}),
        ("beeps P1.1 P1.2 with KEY ", {"off", "on"}),
        ("beeps P1.1 P1.2 with KEY on, SW ", {"up", "down"}),
        ("touched P1.1 ", {"over"}),
        ("touched P1.1 over ", {"P1", "P2"}),
        ("touched P1.1 over P2: ", {"P2.1", "none"}),
        ("P1.1 P1.2 210 ", {"ohm", "kohm"}),
        ("setup ", {"all apart", "parts in"}),
        ("knob K of ", {"P1", "P2"}),
        ("found P1 ", {"is", "not"}),
    ],
)
def test_what_can_be_typed(workspace: Workspace, line: str, some: set[str]) -> None:
    assert some <= set(offered(workspace, line))


def test_nothing_is_offered_in_comments_and_texts(workspace: Workspace) -> None:
    assert offered(workspace, "# ") == []
    text = f'{SURVEY}survey "x'
    assert opened(workspace, text).completion(6, 10).offers == ()


def test_a_half_and_a_word_say_what_they_are(workspace: Workspace) -> None:
    surveyed = opened(workspace, SURVEY)
    half = surveyed.hover(2, 7)
    assert half is not None
    assert half.text.startswith("```text\nP1: sure: REAR (")
    assert (half.span.column, half.span.end_column) == (6, 8)
    lead = surveyed.hover(5, 16)
    assert lead is not None
    assert "P2: sure: HEAD" in lead.text
    word = surveyed.hover(5, 2)
    assert word is not None
    assert "none of them" not in word.text
    assert "each of them beeps with each other" in word.text
    assert surveyed.hover(2, 14) is None


def test_without_a_diagram_a_half_says_where_to_go(workspace: Workspace) -> None:
    found = opened(workspace, 'survey "S"\nhalf P1 rd\n').hover(2, 7)
    assert found is not None
    assert "`loomwright draft` writes one" in found.text


def test_it_is_laid_out_like_any_file(workspace: Workspace) -> None:
    (edit,) = tidied(SURVEY.replace("half P1 gy", "plug  P1  grey"), "survey.loom")
    assert edit.text == "half P1 gy pk bk\n"
