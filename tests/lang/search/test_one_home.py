"""Graph searches are asked of `lang.search`: a loop of one's own has a reason that stands here."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

HERE = "lang/search/"
TAKES = {"pop", "popleft", "heappop"}
GROWS = {"append", "appendleft", "extend", "add", "update", "heappush"}

REASONS = {
    "checks/bench/frame.py frame": "no search: lays one branch after the other, clear of those that lie already",
    "checks/dc/kron_reduction.py _eliminate": "no search: takes out nodes, and the graph changes with each",
    "checks/logic/islands.py Islands.at": "gathers tables of combinations on its way, and these narrow where it holds",
    "checks/logic/load_tables.py LoadTables._past_rails": "goes on in all combinations at once, a bit each",
    "checks/logic/transitions.py Transitions._reachable": "a state at a time, in all combinations of controls at once",
    "checks/logic/reach_tables.py ReachTables._spread": "goes on in all combinations at once, a bit each",
    "checks/logic/sources.py Sources.origins": "lists rows of batteries: nothing is searched for",
    "checks/operation/worst_case.py WorstCase._ranked": "no graph: parts of the combinations, the most promising first",
    "render/paper/parting.py Joins.in_reach": "no way: what has the most wires to all before it comes next",
    "lang/files/reading.py _Collector.add": "reads a file at each step, and says on the way what it cannot read",
}


def loops(source: str) -> list[str]:
    """The names of the functions with a loop that looks like a search, once a loop.

    A loop that takes from what it adds to, one that goes through what it adds to, one that puts another name in place
    of what it goes on for, and one that goes back step by step over where it came from.
    """
    found: list[str] = []

    def visit(node: ast.AST, scope: tuple[str, ...]) -> None:
        for child in ast.iter_child_nodes(node):
            named = isinstance(child, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef)
            inner = (*scope, child.name) if named else scope
            if isinstance(child, ast.While | ast.For) and _searches(child):
                found.append(".".join(inner))
            visit(child, inner)

    visit(ast.parse(source), ())
    return found


def _searches(loop: ast.While | ast.For) -> bool:
    if isinstance(loop, ast.For):
        return isinstance(loop.iter, ast.Name) and loop.iter.id in _called(loop, GROWS)
    asked = loop.test
    back = any(isinstance(n, ast.NamedExpr) and _looks_up(n.value) for n in ast.walk(asked))
    waves = isinstance(asked, ast.Name) and any(
        isinstance(n, ast.Assign)
        and isinstance(n.value, ast.Name)
        and any(isinstance(target, ast.Name) and target.id == asked.id for target in n.targets)
        for n in ast.walk(loop)
    )
    return back or waves or bool(_called(loop, TAKES) & (_called(loop, GROWS) | _added_to(loop)))


def _called(loop: ast.AST, names: set[str]) -> set[str]:
    """The variables of which such a method is called, or that are the first argument of such a function."""
    found = set()
    for call in (n for n in ast.walk(loop) if isinstance(n, ast.Call)):
        name = call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")
        of = call.args[0] if name.startswith("heap") and call.args else getattr(call.func, "value", None)
        if name in names and isinstance(of, ast.Name):
            found.add(of.id)
    return found


def _added_to(loop: ast.AST) -> set[str]:
    return {n.target.id for n in ast.walk(loop) if isinstance(n, ast.AugAssign) and isinstance(n.target, ast.Name)}


def _looks_up(value: ast.expr) -> bool:
    """Whether something is looked up by a variable that the loop moves on."""
    got = isinstance(value, ast.Call) and isinstance(value.func, ast.Attribute) and value.func.attr == "get"
    return isinstance(value, ast.Subscript) or got


def test_every_loop_of_its_own_has_a_reason(root: Path) -> None:
    files = [file for folder in ("lang", "checks", "render") for file in sorted((root / folder).rglob("*.py"))]
    named = {file.relative_to(root).as_posix(): file.read_text(encoding="utf-8") for file in files}
    own = {f"{name} {loop}" for name, text in named.items() if not name.startswith(HERE) for loop in loops(text)}
    assert own - REASONS.keys() == set(), "ask lang/search, or say in REASONS why it cannot be asked"
    assert REASONS.keys() - own == set(), "no loop there any more"


@pytest.mark.parametrize(
    "loop",
    [
        "while stack:\n        for o in near[stack.pop()]:\n            stack.append(o)",
        "while queue:\n        n = queue.popleft()\n        queue += near[n]",
        "while heap:\n        c, n = heappop(heap)\n        heapq.heappush(heap, (c + 1, n))",
        "for n in queue:\n        queue.append(n)",
        "while wave:\n        after = near(wave)\n        wave = after",
        "while (step := came[node]) is not None:\n        node = step",
    ],
)
def test_a_search_of_its_own_is_seen(loop: str) -> None:
    assert loops(f"class A:\n  def f(self):\n    {loop}\n") == ["A.f"]


@pytest.mark.parametrize(
    "loop",
    [
        "for n in nodes:\n        found.append(n)",
        "while words:\n        words.pop()",
        "while n > 1:\n        n = n // 2",
    ],
)
def test_what_searches_nothing_is_not(loop: str) -> None:
    assert loops(f"def f():\n    {loop}\n") == []
