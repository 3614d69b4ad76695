"""Who may import whom, and what the command line must not load before it is needed."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from loomwright.render.commands.group import NAMES

HEAVY = {"graphviz", "hypothesis", "pint", "pygls", "resvg_py", "rich", "scipy", "typst"}


def loaded_after(code: str, root: Path) -> set[str]:
    """Top-level modules that an interpreter of its own has loaded after ``code``."""
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
