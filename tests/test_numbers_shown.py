"""No module formats a number by hand: `lang/quantities/quantity.py` is the one formatter."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

BY_HAND = re.compile(r"[,.\d]*[gfeGFE%n]|,")
"""Format specifications of numbers: `g`, `.3g`, `,.0f`, `.0%`; widths such as `<7` and `02x` are none."""

ELSEWHERE = {
    "checks/conductors/standard_sizes.py": "a size as the language writes it, not grouped",
    "checks/proof/bikes.py": "a text as the language writes it, not grouped",
    "checks/tables/ampacity.py": "the name of a row",
    "checks/export.py": "twelve digits of what other programs calculate with",
    "checks/diagnosis/explanation.py": "what a meter displays, to a tenth of a volt",
    "checks/diagnosis/refusal.py": "what a meter displays, to a tenth of a volt",
    "render/editor/hover_wires.py": "how many of a list are left out: counts, thousands grouped",
    "render/editor/offered_statements.py": "a class as the language writes it, not grouped",
    "render/editor/offered_traits.py": "a size as the language writes it, not grouped",
    "render/formats/figures.py": "machine formats have digits of their own",
    "render/report/diagnosis.py": "what a meter displays, to a tenth of a volt, and its ranges",
    "render/schematic/placement.py": "lengths in a drawing",
    "render/schematic/symbols/drawn.py": "lettering in a drawing",
    "render/report/sizes.py": "columns of a table have the same decimals all the way down",
    "render/report/states.py": "columns of a table have the same decimals all the way down",
    "render/drawing/svg.py": "lengths in a drawing",
}
"""Modules in which a number is no sentence, and why; none of the rules."""


def by_hand(source: str) -> list[int]:
    """The lines in which a value is formatted as a number: in an f-string, by `format` or by `%`."""
    found = []
    for node in ast.walk(ast.parse(source)):
        match node:
            case ast.FormattedValue(format_spec=ast.JoinedStr(values=values)):
                if BY_HAND.fullmatch("".join(str(each.value) for each in values if isinstance(each, ast.Constant))):
                    found.append(node.lineno)
            case ast.Call(func=ast.Name(id="format"), args=[_, ast.Constant(value=str(spec))]):
                if BY_HAND.fullmatch(spec):
                    found.append(node.lineno)
            case ast.Constant(value=str(text)):
                if re.search(r"\{\w*:[,.\d]*[gfe%]\}|%\.?\d*[gfe]\b", text):
                    found.append(node.lineno)
    return sorted(found)


def test_no_number_is_formatted_by_hand(root: Path) -> None:
    modules = {
        path.relative_to(root).as_posix(): path
        for folder in ("checks", "render")
        for path in sorted((root / folder).rglob("*.py"))
    }
    found = {name: lines for name, path in modules.items() if (lines := by_hand(path.read_text("utf-8")))}
    assert {name: lines for name, lines in found.items() if name not in ELSEWHERE} == {}
    assert sorted(found) == sorted(ELSEWHERE), "an exception that is none any more"
    assert not any(name.startswith("checks/rules/") for name in ELSEWHERE)


@pytest.mark.parametrize(
    "line",
    [
        'f"{x:g} A"',
        'f"{x:.3g}"',
        'f"{x:,.0f}"',
        'f"{x:.0%}"',
        'f"{x:,}"',
        'f"{x:.{y}f}"',
        "format(x, '.2f')",
        "'{:.3g} A'.format(x)",
        "'%.2f A' % x",
        "f\"{float(f'{x:.2g}')} A\"",
    ],
)
def test_a_number_by_hand_is_seen(line: str) -> None:
    assert by_hand(line) == [1]


@pytest.mark.parametrize("line", ['f"{x:<7}"', 'f"{x:02x}"', 'f"{shown(x)} A"', 'f"{a:>{b}}"', "'95 % of it'"])
def test_what_is_no_number_by_hand_passes(line: str) -> None:
    assert by_hand(line) == []
