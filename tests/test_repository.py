"""Hygiene of the whole repository: what a reader would stumble over."""

from __future__ import annotations

import ast
import re
from binascii import crc32
from fnmatch import fnmatch
from pathlib import Path

import pytest

from loomwright.checks.tables.contents import CONTENTS
from loomwright.checks.tables.sourced import HERE
from loomwright.lang.syntax import parse_tables
from loomwright.lang.syntax.grammar import made_of

LEFT_OUT = {"__pycache__", "build", "dist", "out"}
TEXT = {".py", ".md", ".loom", ".lark", ".toml", ".txt", ".csv", ".json", ".css", ".js", ".html", ".typ", ".svg", ".in"}

# In pieces, so that this file is not its own finding.
UNFINISHED = re.compile(r"\b(?:" + "|".join(("TO" + "DO", "FIX" + "ME", "X" + "XX", "HA" + "CK", "T" + "BD")) + r")\b")
UNWRITTEN = re.compile("NotImplemented" + "Error|pytest" + r"\.mark\.(?:skip\b|xfail)")
SOMEBODYS_MACHINE = re.compile(r"(?<![\w.:/<-])/(?:home|root|Users|work|tmp|opt|mnt)/\w|\b[A-Z]:\\Users\\")
LINK = re.compile(r"(?<!!)\[[^\]\n]*\]\(([^)\s]+)\)|!\[[^\]\n]*\]\(([^)\s]+)\)")
HEADING = re.compile(r"^#+\s+(.*?)\s*#*$", re.MULTILINE)


def texts(root: Path, *suffixes: str) -> list[Path]:
    """The project's own text files, sorted; nothing hidden but ``.ci``, nothing made."""

    def is_left_out(part: str) -> bool:
        return part in LEFT_OUT or part.endswith(".egg-info") or (part.startswith(".") and part != ".ci")

    tops = [top for top in root.iterdir() if not is_left_out(top.name)]
    files = [path for top in tops for path in (top.rglob("*") if top.is_dir() else [top]) if path.is_file()]
    return sorted(
        path
        for path in files
        if (path.suffix in (suffixes or TEXT) or (not suffixes and path.name in {"Makefile", "LICENSE", "run"}))
        and not any(map(is_left_out, path.relative_to(root).parts))
    )


def hits(pattern: re.Pattern[str], paths: list[Path], root: Path) -> list[str]:
    return [
        f"{path.relative_to(root)}:{number}: {line.strip()}"
        for path in paths
        for number, line in enumerate(path.read_text(encoding="utf-8", errors="replace").splitlines(), start=1)
        if pattern.search(line)
    ]


def test_nothing_is_left_unfinished(root: Path) -> None:
    assert hits(UNFINISHED, texts(root), root) == []
    assert hits(UNWRITTEN, texts(root, ".py"), root) == []


def test_no_path_of_somebodys_machine(root: Path) -> None:
    assert hits(SOMEBODYS_MACHINE, texts(root), root) == []


def test_text_files_are_clean(root: Path) -> None:
    """Lines that end in a line feed, the last one too. Odd input is made by the tests; schemas stay as published."""
    for path in texts(root):
        if path.parent == root / "tests/reference/schemas":
            continue
        data = path.read_bytes()
        assert b"\r" not in data, path
        assert not data or data.endswith(b"\n"), path


def anchor(heading: str) -> str:
    """The anchor that the usual Markdown hosts give a heading."""
    plain = re.sub(r"\[([^\]]*)\]\([^)]*\)", r"\1", heading).replace("`", "")
    return re.sub(r"[^\w\- ]", "", plain.lower()).replace(" ", "-")


def broken_links(page: Path) -> list[str]:
    """Relative links of a page that lead nowhere, anchors included. What is in code is no link."""
    text = re.sub(r"```.*?```", "", page.read_text(encoding="utf-8"), flags=re.DOTALL)
    text = re.sub(r"`[^`\n]*`", "", text)
    broken = []
    for match in LINK.finditer(text):
        link = match[1] or match[2]
        if re.match(r"[a-z]+:", link):
            continue
        name, _, fragment = link.partition("#")
        target = page.parent / name if name else page
        if not target.exists():
            broken.append(f"{page.name}: {link}: no such file")
        elif fragment and target.suffix == ".md":
            anchors = {anchor(heading) for heading in HEADING.findall(target.read_text(encoding="utf-8"))}
            if fragment not in anchors:
                broken.append(f"{page.name}: {link}: no such heading")
    return broken


def test_links_between_pages_resolve(root: Path) -> None:
    pages = texts(root, ".md")
    assert root / "README.md" in pages
    assert [line for page in pages for line in broken_links(page)] == []


@pytest.mark.parametrize("link", ["gone.md", "page.md#nowhere", "#nowhere", "folder/gone.svg"])
def test_a_broken_link_is_seen(link: str, tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    page.write_text(f"# Here and *there*\n\nSee [this]({link}) and [that](page.md#here-and-there).\n")
    assert len(broken_links(page)) == 1


@pytest.mark.parametrize("line", ["# " + "TO" + "DO later", "# FIX" + "ME"])
def test_an_unfinished_marker_is_seen(line: str) -> None:
    assert UNFINISHED.search(line)


@pytest.mark.parametrize("line", ["open('/home" + "/x/bike.loom')", "see /work" + "/main", "C:\\Users" + "\\x"])
def test_a_machine_path_is_seen(line: str) -> None:
    assert SOMEBODYS_MACHINE.search(line)


def test_what_is_kept_of_the_grammar_and_the_tables_is_fresh() -> None:
    """Stale, every start would work it out again: ``python -m loomwright.lang.syntax.grammar`` and
    ``python -m loomwright.checks.tables.sourced`` write it.
    """
    assert made_of() == parse_tables.MADE_OF
    kept = {name: checksum for name, (checksum, _) in CONTENTS.items()}
    assert kept == {path.name: crc32(path.read_bytes()) for path in HERE.rglob("*.toml")}


MOST_LINES, MOST_METHODS = 400, 25
REASONS = {
    "lang/syntax/parse_tables.py": "written by a tool: the tables of the grammar",
    "lang/syntax/nodes.py Nodes": "a method a rule of the grammar, found by the parser by its name",
    "checks/behaviour/behaviour.py Behaviour": "the one face of the logic for whoever judges: a line or two a question",
    "lang/model/parts.py": "a record a kind of part, and nothing else",
}
"""Files of more lines and classes of more methods, and why: these alone. What grows past that has two subjects."""


def too_large(path: Path, name: str) -> list[str]:
    """A module, and the classes in it, that are beyond what a reader holds at once."""
    source = path.read_text(encoding="utf-8")
    classes = [each for each in ast.walk(ast.parse(source)) if isinstance(each, ast.ClassDef)]
    methods = {
        each.name: sum(isinstance(one, ast.FunctionDef | ast.AsyncFunctionDef) for one in each.body) for each in classes
    }
    found = [name] if source.count("\n") > MOST_LINES else []
    return found + [f"{name} {cls}" for cls, count in methods.items() if count > MOST_METHODS]


def test_what_is_large_has_a_reason(root: Path) -> None:
    modules = [path for path in texts(root, ".py") if path.relative_to(root).parts[0] != "tests"]
    found = [each for path in modules for each in too_large(path, path.relative_to(root).as_posix())]
    assert sorted(found) == sorted(REASONS), "split it by subject, or say why; an exception that is none any more goes"


def test_what_is_too_large_is_seen(tmp_path: Path) -> None:
    page = tmp_path / "large.py"
    page.write_text("class Many:\n" + "".join(f"    def m{i}(self): ...\n" for i in range(MOST_METHODS + 1)))
    assert too_large(page, "large.py") == ["large.py Many"]
    page.write_text("\n" * (MOST_LINES + 1))
    assert too_large(page, "large.py") == ["large.py"]
    page.write_text("\n" * MOST_LINES)
    assert too_large(page, "large.py") == []


def test_pytest_looks_into_every_folder_that_has_tests(request: pytest.FixtureRequest) -> None:
    """A pattern for folders to leave out holds at any depth: ``bench`` left out ``tests/checks/bench``, too."""
    root = request.config.rootpath
    left_out = request.config.getini("norecursedirs")
    folders = {path.parent.relative_to(root) for path in (root / "tests").rglob("test_*.py")}
    assert {str(f) for f in folders if any(fnmatch(part, each) for part in f.parts for each in left_out)} == set()
