"""Who may import whom, and what the command line must not load before it is needed."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import networkx as nx
import pytest

from loomwright.render.commands.group import NAMES

HEAVY = {"graphviz", "hypothesis", "pint", "pygls", "resvg_py", "rich", "scipy", "typst"}


def loaded_after(code: str, root: Path) -> set[str]:
    """Top-level modules that a separate interpreter has loaded after ``code``."""
    report = "import sys; sys.stderr.write('LOADED ' + ' '.join(sorted({m.partition('.')[0] for m in sys.modules})))"
    done = subprocess.run(
        [sys.executable, "-c", f"import atexit\n@atexit.register\ndef _():\n    {report}\n{code}"],
        cwd=root,
        capture_output=True,
        text=True,
        check=False,
    )
    assert "LOADED " in done.stderr, done.stderr
    assert "Traceback" not in done.stderr, done.stderr
    return set(done.stderr.rpartition("LOADED ")[2].split())


@pytest.mark.parametrize(
    "code",
    [
        "import loomwright",
        "import loomwright.cli",
        "from loomwright.cli import main; main(['--version'])",
        "from loomwright.cli import main; main(['check', '--help'])",
    ],
)
def test_start_loads_nothing_heavy(code: str, root: Path) -> None:
    loaded = loaded_after(code, root)
    assert "loomwright" in loaded
    assert loaded & (HEAVY | {"lark", "networkx", "numpy"}) == set()


@pytest.mark.parametrize(
    "command", ["['check', 'specs/rebuild.loom']", "['rules']", "['trace', 'specs/stock.loom', 'REAR']"]
)
def test_judging_never_pays_for_pictures(command: str, root: Path) -> None:
    loaded = loaded_after(f"from loomwright.cli import main; main({command})", root)
    assert loaded & (HEAVY | {"lark"}) == set()


def test_the_probe_sees_what_is_loaded(root: Path) -> None:
    assert "pint" in loaded_after("import pint", root)


def test_rules_and_what_is_shown_reckon_with_no_tables_of_bits(root: Path) -> None:
    """They ask ``Behaviour`` in the words of the trade, and where they compare answers, with its sets."""
    below = re.compile(r"\.table\(|\.(?:counted|full)\b|logic\.(?:scope|show|support|network)\b|\.scope\b")
    found = [
        f"{path.relative_to(root)}:{number}: {line.strip()}"
        for top in ("checks/rules", "checks/fixes", "render")
        for path in sorted((root / top).rglob("*.py"))
        for number, line in enumerate(path.read_text().splitlines(), start=1)
        if below.search(line)
    ]
    assert found == []


def test_one_direction(root: Path) -> None:
    """The contract of ``pyproject.toml``: render -> checks -> lang, the command line on top."""
    done = subprocess.run(
        [Path(sys.executable).with_name("lint-imports"), "--no-cache"],
        cwd=root,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    settings = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))
    contracts = settings["tool"]["importlinter"]["contracts"]
    assert f"{len(contracts)} kept, 0 broken" in done.stdout


def test_a_command_is_imported_when_it_is_asked_for(root: Path) -> None:
    report = "import sys; from loomwright.cli import main; main({}, standalone_mode=False); print(*sys.modules)"
    asked = subprocess.run(
        [sys.executable, "-c", report.format("['rules']")], cwd=root, capture_output=True, text=True, check=True
    )
    modules = set(asked.stdout.splitlines()[-1].split())
    commands = {f"loomwright.render.commands.{name}" for name in NAMES}
    assert modules & commands == {"loomwright.render.commands.rules"}


# --- circles ---------------------------------------------------------------------------------------------------------
def imported(source: str, module: str, package: bool) -> set[str]:
    """What a module imports of the package, for types and in functions too: modules, and what is in them by name."""
    found = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.ImportFrom) and node.level:
            above = module.split(".")[: None if package and node.level == 1 else 1 - node.level - (not package)]
            origin = ".".join([*above, *([node.module] if node.module else [])])
            found |= {origin, *(f"{origin}.{name.name}" for name in node.names)}
    return found


def circles(root: Path) -> list[set[str]]:
    """The modules that import each other, round about as well."""
    files = {}
    for folder in ("lang", "checks", "render"):
        for file in sorted((root / folder).rglob("*.py")):
            parts = ("loomwright", *file.relative_to(root).with_suffix("").parts)
            files[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = file
    graph: nx.DiGraph[str] = nx.DiGraph()
    for module, file in files.items():
        names = imported(file.read_text(encoding="utf-8"), module, file.name == "__init__.py")
        # a name in a package may be a module of it: then that is imported, and not the package
        modules = {name for name in names if name in files}
        graph.add_edges_from((module, name) for name in modules if not any(m.startswith(f"{name}.") for m in modules))
    return [found for found in nx.strongly_connected_components(graph) if len(found) > 1]


def test_no_module_imports_one_that_imports_it(root: Path) -> None:
    assert circles(root) == []


def test_a_circle_is_seen(tmp_path: Path) -> None:
    for path, text in {
        "lang/a.py": "def f() -> None:\n    from .deep import b\n",
        "lang/deep/__init__.py": "",
        "lang/deep/b.py": "if TYPE_CHECKING:\n    from ...checks import c\n",
        "checks/__init__.py": "",
        "checks/c.py": "from ..lang.a import f\nfrom . import d\n",
        "checks/d.py": "",
    }.items():
        (tmp_path / path).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / path).write_text(text, encoding="utf-8")
    assert circles(tmp_path) == [{"loomwright.lang.a", "loomwright.lang.deep.b", "loomwright.checks.c"}]
