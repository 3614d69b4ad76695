"""What a check costs, counted and not timed: what it loads, and how often it works out the same."""

from __future__ import annotations

import subprocess
import sys
from collections import Counter
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from loomwright.checks.dc.newton import Dense
from loomwright.checks.dc.nodal_equations import NodalEquations
from loomwright.checks.fmea.multiport import Multiport
from loomwright.checks.logic.switching_network import SwitchingNetwork as Logic
from loomwright.checks.runner.run import check
from loomwright.lang.circuit import circuit
from loomwright.lang.files.reading import read_file

if TYPE_CHECKING:
    from collections.abc import Callable

DEMONSTRATIONS = ("rebuild", "stock")

NEVER = {
    "difflib",
    "graphviz",
    "hypothesis",
    "interegular",
    "jinja2",
    "lark",
    "networkx",
    "pint",
    "pygls",
    "pygments",
    "rich",
}
NEVER |= {"asyncio", "email", "importlib.metadata", "importlib.resources", "json", "multiprocessing", "socket"}
NEVER |= {"resvg_py", "scipy", "typst", "urllib.request", "numpy.fft", "numpy.polynomial", "numpy.random"}
SHOWN = {f"loomwright.render{name}" for name in ("", ".report", ".report.findings", ".formats", ".formats.entries")}
COMMANDS = ("", ".check", ".cores", ".exits", ".group", ".inputs", ".judging", ".options", ".outputs", ".progress")
SHOWN |= {f"loomwright.render.commands{name}" for name in COMMANDS}

SOLVES, STEPS = {"stock": 80, "rebuild": 140}, {"stock": 400, "rebuild": 700}
"""Operating points solved, and Newton steps taken, in a check of a demonstration (written at 43 and at most 242). The
rebuild is compared with the harness that it converts, which is solved as well (69 more, when that came).
"""

GROUNDED = {"stock": 0, "rebuild": 12}
"""Terminals of either harness that a comparison puts on ground, to learn what comes to them through other loads."""


def test_a_check_loads_what_it_uses(root: Path) -> None:
    code = (
        "import sys\n"
        "sys.modules['interegular'] = None  # Lark imports it where it is, as it is for these tests\n"
        "from loomwright.cli import main\n"
        "try:\n    main(['check', 'specs/rebuild.loom'])\n"
        "finally:\n    sys.stderr.write(' '.join(name for name, module in sys.modules.items() if module))\n"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=False)
    loaded = set(done.stderr.split())
    assert {"click", "numpy", "loomwright.checks.rules.fire.unfused_feed"} <= loaded, done.stderr
    assert loaded & NEVER == set()
    assert {name for name in loaded if name.startswith("loomwright.render")} == SHOWN


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch) -> Counter[str]:
    """How often the dear things are done, by name; counts begin with the test."""
    counts: Counter[str] = Counter()

    def count(owner: Any, name: str, shown: str) -> None:
        whole: Callable[..., Any] = getattr(owner, name)

        def counting(*args: Any, **more: Any) -> Any:
            counts[shown] += 1
            return whole(*args, **more)

        monkeypatch.setattr(owner, name, counting)

    count(NodalEquations, "solved", "solves")
    count(Dense, "step", "steps")
    count(NodalEquations, "__init__", "numbers")
    count(Logic, "__init__", "logic")
    count(circuit, "nets", "nets")
    count(Multiport, "__init__", "states reduced")
    return counts


@pytest.mark.parametrize("name", DEMONSTRATIONS)
def test_nothing_dear_is_done_twice(name: str, root: Path, counted: Counter[str]) -> None:
    reading = read_file(root / "specs" / f"{name}.loom")
    report = check(reading, today=date(2026, 1, 1))
    assert report.rules > 50
    without = {e.without for e in reading.harness.expectations if e.without}
    assert 0 < counted["solves"] <= SOLVES[name]
    assert 0 < counted["steps"] <= STEPS[name]
    assert counted["states reduced"] == 0, "a note alone asks for faults, and nothing there can come to life"
    # The whole one, one for each part that an expectation takes out, and those of rules: the battery in the cold, the
    # machine without its battery, what stays joined without a ground.
    circuits = counted["nets"]
    assert counted["logic"] <= circuits
    assert counted["numbers"] <= circuits + GROUNDED[name]
    assert circuits <= 5 + len(without) + GROUNDED[name], without
