"""The catalogue as text shows all that a rule's record holds."""

from __future__ import annotations

from collections.abc import Iterable

from loomwright.checks.findings.finding import Finding, Level
from loomwright.checks.rule import Rule
from loomwright.render.report.rules import WIDTH, explanation, rule_list


def silent(_: object) -> Iterable[Finding]:
    return ()


FUSE = Rule(
    name="unfused-feed",
    level=Level.ERROR,
    family="fire",
    catches="a conductor that nothing limits, farther from the feed pole than the law allows " * 2,
    why="A short in it draws what the battery gives.\nIt burns.\n\nSo it is kept short.",
    source="33 CFR 183.455",
    formula="length <= 0.178 m",
    cautions="Take the battery off first.",
    aliases=("no-fuse",),
    bad="""
        loom "bad"
        ground FRAME at tray
    """,
    good='loom "good"\n',
    find=silent,
)
EARTH = Rule(
    name="floating-ground", level=Level.NOTE, family="ground", catches="c", why="w", source="s", bad="b", good="g",
    find=silent,
)  # fmt: skip


def test_an_explanation_holds_everything() -> None:
    text = explanation(FUSE)
    for part in (
        "unfused-feed: error, fire",
        "    Once named no-fuse.",
        "Why\n    A short in it draws what the battery gives. It burns.\n\n    So it is kept short.",
        "What decides\n    length <= 0.178 m",
        "Source\n    33 CFR 183.455",
        "Caution\n    Take the battery off first.",
        'It finds fault with\n    loom "bad"\n    ground FRAME at tray',
        'It passes\n    loom "good"',
        'waive unfused-feed for NAME because "REASON"',
    ):
        assert part in text
    assert max(map(len, text.splitlines())) <= WIDTH


def test_what_a_rule_does_not_say_is_left_out() -> None:
    text = explanation(EARTH)
    assert "Caution" not in text
    assert "What decides" not in text
    assert "Once named" not in text


def test_the_list_goes_by_family() -> None:
    lines = rule_list([EARTH, FUSE]).splitlines()
    assert lines[0] == "fire"
    assert lines[1].startswith("    unfused-feed     error    a conductor that nothing limits")
    assert lines[2].startswith(" " * 30)
    assert lines[-2:] == ["ground", "    floating-ground  note     c"]
    assert max(map(len, lines)) <= WIDTH


def test_no_rules_no_list() -> None:
    assert rule_list([]) == ""
