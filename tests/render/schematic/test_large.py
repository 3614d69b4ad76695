"""What is large is drawn with less work: fewer layouts, and an order of lines that is not added up again for each."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from loomwright.lang.files.reading import read_file
from loomwright.render.drawing import layout_engine
from loomwright.render.schematic import arranging, placement, routing
from loomwright.render.schematic.schematic import draw

FIRST = Path(__file__).parents[3] / "lang" / "files" / "first.loom"


def runs_of_the_engine(monkeypatch: pytest.MonkeyPatch) -> int:
    """How often the engine is asked for one drawing."""
    asked = []

    def counted(graph: object, engine: layout_engine.Engine) -> object:
        asked.append(1)
        return layout_engine.laid_out(graph, engine)  # type: ignore[arg-type]

    monkeypatch.setattr(placement, "laid_out", counted)
    harness = read_file(str(FIRST)).harness
    assert harness is not None
    draw(harness)
    return len(asked)


def test_a_large_drawing_takes_fewer_runs_of_the_engine(monkeypatch: pytest.MonkeyPatch) -> None:
    """Rows once; of what is small eight tries, of what is large two; the best is straightened, and not begun again."""
    assert 1 + 8 < runs_of_the_engine(monkeypatch) <= 1 + 8 + 5
    monkeypatch.setattr(arranging, "LARGE", 0)
    assert runs_of_the_engine(monkeypatch) <= 1 + 2 + 1


@st.composite
def orders(draw: st.DrawFn) -> tuple[routing._Order, int]:
    count = draw(st.integers(1, 7))
    pairs = [(i, j) for i in range(count) for j in range(count) if i != j]
    costs = draw(st.dictionaries(st.sampled_from(pairs), st.integers(0, 4))) if pairs else {}
    musts = {i: {j for j in range(i + 1, count) if draw(st.booleans())} for i in range(count)}
    return routing._Order(musts, costs), count


@given(orders())
def test_lines_are_set_one_after_another_by_what_is_cheapest_then(found: tuple[routing._Order, int]) -> None:
    order, count = found
    waiting = set(range(count))
    for chosen in routing._sorted(order, count):
        free = [i for i in waiting if not any(i in order.must[j] for j in waiting)]
        price = {i: sum(order.cost.get((i, j), 0) - order.cost.get((j, i), 0) for j in waiting) for i in free}
        assert chosen == min(free, key=lambda i: (price[i], i))
        waiting.remove(chosen)
    assert not waiting
