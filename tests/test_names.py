"""The code uses the names of ``lang/GLOSSARY.md``, and none of those that they took the place of."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

OLD = {
    "Aftermath": "Propagation",
    "Bank": "DeviceBank",
    "Conduction": "SwitchingLogic",
    "Demand": "WorstCase",
    "Desk": "Workspace",
    "Detective": "Diagnoser",
    "Examination": "Study",
    "Exposure": "SustainedFault",
    "Inquiry": "Diagnosis",
    "Knee": "Breakpoint",
    "Law": "BranchType",
    "Merged": "DisjointSet",
    "Mistakes": "Diagnostics",
    "Proofs": "Properties",
    "Wounded": "FaultedCircuit",
    "told_together": "merged",
}


def sources(root: Path) -> list[Path]:
    return sorted(path for room in ("lang", "checks", "render") for path in (root / room).rglob("*.py"))


def names(path: Path) -> set[str]:
    """Every identifier that a module writes."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        found |= {getattr(node, field) for field in ("id", "attr", "name", "arg") if hasattr(node, field)} - {None}
    return {name for name in found if isinstance(name, str)}


def test_no_old_name_is_used(root: Path) -> None:
    found = {(path.relative_to(root).as_posix(), name) for path in sources(root) for name in names(path) & set(OLD)}
    assert found == set()


def test_the_search_finds_a_name_where_it_is_written(tmp_path: Path) -> None:
    module = tmp_path / "module.py"
    module.write_text("from x import Law\ndef f(Bank): return Bank.Knee\nclass Desk: pass\n")
    assert set(OLD) & names(module) == {"Law", "Bank", "Knee", "Desk"}


@pytest.mark.parametrize("name", sorted(set(OLD.values())))
def test_each_new_name_is_used(root: Path, name: str) -> None:
    assert any(re.search(rf"\b{name}\b", path.read_text("utf-8")) for path in sources(root))


def test_the_glossary_names_what_the_code_has(root: Path) -> None:
    text = (root / "lang" / "GLOSSARY.md").read_text("utf-8")
    rows = [line.split("|")[2].strip() for line in text.splitlines() if line.startswith("| ") and "`" in line]
    assert len(rows) > 20
    everything = "\n".join(path.read_text("utf-8") for path in sources(root))
    for row in rows:
        name = row.strip("`")
        module = root / Path(*name.split(".")).with_suffix(".py")
        assert re.search(rf"\b{name.partition('.')[0]}\b", everything) or module.is_file(), name
    terms = [line.split("|")[1].strip() for line in text.splitlines() if line.startswith("| ")][2:]
    assert terms == sorted(terms)
