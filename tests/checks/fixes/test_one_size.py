"""One size for one wire, whichever rule advises it, and the one that `size` proposes; no wire that is not at fault."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from own_syntaxes import own_syntaxes

from loomwright.checks.findings.finding import Finding, Level
from loomwright.checks.operation.load_drops import falls_short
from loomwright.checks.runner.run import check
from loomwright.checks.sizing.sizing import sizing
from loomwright.checks.tables.profiles import profile_named
from loomwright.lang.editing.fixing import fixed_texts
from loomwright.lang.editing.proposals import Proposal, Resize, of_one_size, thicker
from loomwright.lang.files.reading import read_text
from loomwright.lang.quantities.units import metric
from tests.checks.fixes.test_no_harmful_fix import DEMONSTRATIONS, TODAY, every

STOCK = DEMONSTRATIONS[0]


def thinned(path: Path, *wires: str) -> str:
    """The text of a demonstration with these wires of 16 mm2 at 4 mm2."""
    text = path.read_text("utf-8")
    for wire in wires:
        text, count = re.subn(rf"^(wire {wire} .*) 16 mm2", r"\1 4 mm2", text, flags=re.M)
        assert count == 1, wire
    return text


def found(text: str) -> dict[str, Finding]:
    """What is advised, by rule, of what is an error or a warning."""
    reading = read_text(text, str(STOCK))
    return {f.rule: f for f in every(check(reading, today=TODAY)) if f.level > Level.NOTE}


@pytest.mark.parametrize(
    ("wires", "sizes", "advice"),
    [
        (("4",), {"4": "10 mm2"}, "use 10 mm2 or thicker for wire 4"),
        (
            ("3", "4"),
            {"3": "8 mm2", "4": "10 mm2"},
            "use 8 mm2 or thicker for wire 3; use 10 mm2 or thicker for wire 4",
        ),
    ],
    ids=["engine cable", "both starter cables"],
)
def test_a_thin_starter_cable(wires: tuple[str, ...], sizes: dict[str, str], advice: str) -> None:
    """Wire 3 of 16 mm2 was to become 25 mm2, and wire 4 once 6 and once 10 mm2."""
    text = thinned(STOCK, *wires)
    by_rule = found(text)
    assert by_rule["thin-return"].to_do.startswith("use 10 mm2 or thicker for wire 4; or")
    assert by_rule["voltage-drop"].to_do == advice
    reading = read_text(text, str(STOCK))
    proposed = sizing(reading, today=TODAY, profile=profile_named("boat-law")).sizes
    assert {name: size.text for name, size in proposed.items()} == sizes
    changes = by_rule["voltage-drop"].proposals[0].changes
    (after,) = fixed_texts(own_syntaxes(reading), changes).values()
    assert found(after) == {}


def test_of_two_sizes_in_one_report_the_greater_is_advised() -> None:
    thin, thick = metric("2"), metric("4")
    assert thin is not None
    assert thick is not None
    fuse = Proposal("fit a fuse of 5 A at MAIN", (Resize(ratings=(("MAIN", 5.0),)),))
    told = of_one_size([thicker({"1": thin, "2": thin}), fuse, thicker({"1": thick})])
    assert [each.says for each in told] == [
        "use 4 mm2 or thicker for wire 1; use 2 mm2 or thicker for wire 2",
        "fit a fuse of 5 A at MAIN",
        "use 4 mm2 or thicker for wire 1",
    ]
    assert told[1] is fuse


def test_a_fix_that_does_more_keeps_its_size() -> None:
    """Its words say what the size is for."""
    thin, thick = metric("2"), metric("4")
    assert thin is not None
    assert thick is not None
    other = Proposal("move wire 1, and use 2 mm2", (Resize(sizes=(("1", thin),)),))
    assert of_one_size([other, thicker({"1": thick})])[0] is other


@pytest.mark.parametrize(("share", "short"), [(0.949999, False), (0.94991, False), (0.9498, True), (0.95, False)])
def test_nobody_measures_the_last_digits_of_a_share(share: float, short: bool) -> None:
    """94.9999 % of the voltage was reported as under 95 %."""
    assert falls_short(share, 0.95) is short
