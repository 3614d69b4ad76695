"""Every harness of the project on the bench: nothing is lost, nothing is there twice, no cut is too short."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomwright.checks.bench.labels import labels
from loomwright.checks.bench.looms import looms
from loomwright.checks.bench.pieces import pieces
from loomwright.checks.bench.purchase import purchase
from loomwright.lang.files.reading import read_file

SPECS = Path(__file__).parents[3] / "specs"
FILES = sorted([*SPECS.glob("*.loom"), *SPECS.glob("small/*.loom"), *SPECS.glob("tutorial/*.loom")])
FILES = [path for path in FILES if not path.name.endswith("-survey.loom")]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_each_new_piece_is_in_one_loom_and_bought_once(path: Path) -> None:
    harness = read_file(path).harness
    found = pieces(harness)
    made = looms(harness, found)
    new = [piece for piece in found if not piece.kept]
    assert sorted(piece.name for loom in made for piece in loom.pieces) == sorted(piece.name for piece in new)
    assert len({loom.name for loom in made}) == len(made)
    for piece in new:
        if piece.cut is not None:
            assert piece.finished is not None
            assert piece.finished < piece.cut <= piece.finished + 0.1
            assert piece.cut / 0.005 == pytest.approx(round(piece.cut / 0.005))
    items = purchase(harness, made)
    assert len({(item.kind, item.name) for item in items}) == len(items)
    wire = sum(item.need for item in items if item.kind == "wire")
    assert wire == pytest.approx(sum(piece.cut for piece in new if piece.cut is not None))
    ends = [label for label in labels(harness, made) if label.sort == "wire"]
    assert len({label.of for label in ends}) == len(ends) == 2 * len(new)
