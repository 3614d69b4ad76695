"""Changes that are offered for what was found, and what becomes of them."""

from __future__ import annotations

import pytest
from marked_text import LAMP, understood

from loomwright.render.editor.code_actions import Fix, fixes
from loomwright.render.editor.diagnostics import Problem, of_mistakes, of_report
from loomwright.render.editor.renaming import applied


def offered(text: str, code: str) -> tuple[list[Fix], str, str]:
    """What is offered for the first problem of a code, and the text and name of its file."""
    known, file = understood(text)
    problems = of_report(known.report()) if known.sound else of_mistakes(known.reading)
    problem = next(each for each in problems if each.code == code)
    return list(fixes(known, problem)), text, file


def after(fix: Fix, text: str) -> str:
    known, file = understood(text)
    return applied(known.syntaxes[file], fix.changes)


def codes(text: str) -> list[str]:
    known, _ = understood(text)
    problems: tuple[Problem, ...] = of_report(known.report()) if known.sound else of_mistakes(known.reading)
    return sorted(problem.code for problem in problems)


@pytest.mark.parametrize(
    ("right", "wrong", "code"),
    [
        ("MAIN.2 to", "MIAN.2 to", "unknown-part"),
        ("A blade", "A blode", "unknown-word"),
        ("KEY.2 to LAMP.1", "KEY.2 to LAMP.11", "unknown-terminal"),
        ("wire 4 LAMP", "wyre 4 LAMP", "unknown-statement"),
        ("for lighting", "for lightning", "unknown-word"),
        ("at tail for", "at tial for", "unknown-place"),
        ("whenever KEY off", "whenever KEY of", "unknown-position"),
        ("expect in lit", "expect in lid", "unknown-state"),
        ("LAMP.1 via C1.1 grey", "LAMP.1 via C1.1 gery", "unknown-word"),
        ("fuse MAIN 5 A", "fuse MAIN 5A", "glued-unit"),
        ("1.5 mm2 0.15 m", "1.5 mm2 0,15 m", "decimal-comma"),
    ],
)
def test_a_slip_is_fixed(right: str, wrong: str, code: str) -> None:
    (fix,), text, _ = offered(LAMP.replace(right, wrong, 1), code)
    assert fix.sure
    assert after(fix, text) == LAMP


def test_nothing_near_is_not_guessed() -> None:
    found, _, _ = offered(LAMP.replace("MAIN.2 to", "ZZZZ.2 to"), "unknown-part")
    assert found == []


THIN = (
    LAMP.replace("lamp 5 W: 1 2", "heat 12 A heater: 1 2")
    .replace("load LAMP lamp", "load LAMP")
    .replace("grey 1.5 mm2", "grey 0.35 mm2")
)


def test_a_thicker_wire_for_a_thin_one() -> None:
    """Wire 3 has 0.35 mm2 for 12 A; what is proposed leaves no finding about that wire's current."""
    text = THIN.replace("fuse MAIN 5 A", "fuse MAIN 15 A")
    found, text, _ = offered(text, "thin-conductor")
    wire = next(fix for fix in found if " for wire 3" in fix.title)
    fixed = after(wire, text)
    assert "wire 3 KEY.2 to LAMP.1 via C1.1 grey" in fixed
    assert "0.35 mm2" not in fixed
    assert not {"thin-conductor", "oversized-fuse"} & {*codes(fixed)}


def test_gauges_stay_gauges() -> None:
    text = THIN.replace("fuse MAIN 5 A", "fuse MAIN 15 A").replace("0.35 mm2", "22 AWG")
    found, _, _ = offered(text, "thin-conductor")
    assert next(fix for fix in found if "AWG or thicker for wire 3" in fix.title)


def test_strands_are_replaced_whole() -> None:
    text = THIN.replace("fuse MAIN 5 A", "fuse MAIN 15 A").replace("0.35 mm2", "7 x 0.25 mm")
    found, text, _ = offered(text, "thin-conductor")
    fixed = after(next(fix for fix in found if " for wire 3" in fix.title), text)
    assert "7 x 0.25" not in fixed
    assert "0.25 mm" not in fixed


def test_a_fuse_for_its_wires() -> None:
    """1.5 mm2 may carry 17.9 A here (33 CFR 183.425 table 5, as the checker holds it); 15 A is sold next below."""
    found, text, _ = offered(LAMP.replace("fuse MAIN 5 A", "fuse MAIN 20 A"), "oversized-fuse")
    assert [fix.title.split(":")[0] for fix in found[:2]] == [
        "Fit a fuse of 15 A or less at MAIN",
        "Use 2.5 mm2 or thicker for wire 2",
    ]
    assert codes(after(found[0], text)) == []
    assert codes(after(found[1], text)) == ["oversized-fuse"], "wire 3 is a finding of its own"


def test_a_larger_fuse_where_the_wires_stand_it() -> None:
    text = THIN.replace("grey 0.35 mm2", "grey 2.5 mm2").replace("1.5 mm2", "2.5 mm2").replace("MAIN 5 A", "MAIN 10 A")
    found, text, _ = offered(text, "overloaded-fuse")
    fuse = next(fix for fix in found if " at MAIN" in fix.title)
    assert "overloaded-fuse" not in codes(after(fuse, text))
    assert "oversized-fuse" not in codes(after(fuse, text))


def test_a_waiver_waits_for_its_reason() -> None:
    burning = LAMP.replace("fuse MAIN 5 A", "fuse MAIN 20 A")
    found, text, _ = offered(burning, "oversized-fuse")
    (fix,) = [each for each in found if each.title.startswith("Waive")]
    assert not fix.sure
    waived = after(fix, text)
    assert waived.startswith(burning.rstrip("\n"))
    assert waived.endswith('\nwaive oversized-fuse for 2 because ""\n')
    assert "no-reason" in codes(waived)
    assert codes(waived.replace('because ""', 'because "on purpose"')) == ["oversized-fuse"]  # of wire 3


def test_a_first_waiver_stands_apart_and_keeps_line_ends() -> None:
    text = LAMP.replace('waive unsealed for C1 because "kept dry"\n', "").replace("\n", "\r\n")
    found, text, _ = offered(text, "unsealed")
    waived = after(found[-1], text)
    assert waived == text.rstrip("\r\n") + '\r\n\r\nwaive unsealed for C1 because ""\r\n'


def test_one_colour_of_two_is_fixed_and_the_other_left() -> None:
    (fix,), text, _ = offered(LAMP.replace("LAMP.1 via C1.1 grey", "LAMP.1 via C1.1 red/lilac", 1), "unknown-colour")
    assert fix.title == "Write light-violet"
    assert "LAMP.1 via C1.1 red/light-violet" in after(fix, text)
