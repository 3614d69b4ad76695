"""What to buy, the cut list and the sheets of a proof as the page shows them, with a box for each row and room for a
reading.
"""

from __future__ import annotations

import hashlib
import json
from itertools import compress, groupby
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from ...checks.bench.looms import looms
from ...checks.bench.pieces import owed, pieces
from ...checks.bench.proving.plan import Proof
from ...checks.bench.proving.record import COLUMNS
from ...checks.bench.purchase import purchase, restripes
from ..bench.buy_list import CAUTION, ON_BUY_LIST, PLURALS, amount, notes_of, use
from ..bench.buy_list import SHEET as BUY_TITLE
from ..bench.cut_list import by_spool, row_cells, total_words
from ..bench.owed import owed_lines
from ..bench.prove_sheet import STAGES, caption, counts, intro, notes, record_cells
from ..bench.prove_words import CAUTIONS, TITLES, expected_words
from ..report.findings import counted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ...checks.bench.proving.rows import Row
    from ...lang.model.harness import Harness

Json = dict[str, Any]

HEADS: Final = ("row", "do", "red on", "black on", "must show")

MOST: Final = 300
"""Wires beyond which no proof is worked out for a page (ours): its time grows with the square of their number and more,
and takes minutes from there on.
"""
DIGITS: Final = 16
"""Hexadecimal digits that tell one plan of work from another: what was ticked belongs to that plan alone."""


def bench_sheets(harness: Harness) -> Json:
    """``sheets`` of rows; ``record`` of a row are its cells in the CSV with these ``columns``."""
    sheets = [*_buying(harness), *_cutting(harness), *(_left_out(harness) or _proving(Proof(harness)))]
    found: Json = {"columns": list(COLUMNS), "sheets": sheets}
    plan = json.dumps(found, ensure_ascii=False, sort_keys=True).encode()
    return {"plan": hashlib.sha256(plan).hexdigest()[:DIGITS], **found}


def _buying(harness: Harness) -> list[Json]:
    """All that is needed: what is on the shelf, the page is not told."""
    found = pieces(harness)
    made = looms(harness, found)
    groups = [
        {
            "title": PLURALS[kind],
            "heads": ["needed", "item", "for"],
            "rows": [
                {"key": f"buy {item.name}", "cells": [amount(item.need, item), item.name, use(item)], "record": None}
                for item in items
            ],
        }
        for kind, items in groupby(purchase(harness, made), key=lambda item: item.kind)
    ]
    stripes = restripes([piece for loom in made for piece in loom.pieces])
    lacking = owed_lines(harness, found, owed(harness, found), ON_BUY_LIST)
    about = {"intro": [], "caution": CAUTION, "notes": notes_of((), stripes, (), lacking)}
    return [{"title": BUY_TITLE, **about, "groups": groups}] if groups else []


def _cutting(harness: Harness) -> list[Json]:
    groups = [
        {
            "title": f"{name}: {total_words(group)}",
            "heads": ["piece", "cut", "end A", "end B", "remarks"],
            "rows": [{"key": f"cut {each.name}", "cells": row_cells(each, "spool"), "record": None} for each in group],
        }
        for name, group in by_spool(looms(harness, pieces(harness)))
    ]
    return [{"title": "cut list", "intro": [], "caution": "", "notes": [], "groups": groups}] if groups else []


def without_proof(harness: Harness) -> str:
    """Why a page has no sheets of a proof, and what makes them; empty where it has."""
    count = len(harness.wires)
    if count <= MOST:
        return ""
    wires, name = counted(count, "wire"), Path(harness.file).name
    return (
        f"The sheets of a proof are not in this page: of {wires}, more than {MOST}, they take minutes. "
        f"`loomwright prove {name}` makes them."
    )


def _left_out(harness: Harness) -> list[Json]:
    why = without_proof(harness)
    return [{"title": "proof", "intro": [why], "caution": "", "notes": [], "groups": []}] if why else []


def _proving(proof: Proof) -> list[Json]:
    return [
        {
            "title": TITLES[stage],
            "intro": list(intro(proof, stage)),
            "caution": CAUTIONS[stage],
            "notes": [*counts(proof, stage), *notes(proof, stage)],
            "groups": [
                _group(caption(proof, stage, sheet), tuple(rows))
                for sheet, rows in groupby(proof.rows(stage), lambda row: row.sheet)
            ],
        }
        for stage in STAGES
        if proof.rows(stage)
    ]


def _group(title: str, rows: Sequence[Row]) -> Json:
    """Rows of one loom, setting or fuse; a column that none of them fills is left out. ``ticked`` is the reading of a
    row that is done and has none: a figure must be written, since a tick does not say that it was within its limits.
    """
    cells = [(row.number, row.do, row.red, row.black, expected_words(row.expected)) for row in rows]
    filled = [any(column) for column in zip(*cells, strict=True)]
    return {
        "title": title,
        "heads": list(compress(HEADS, filled)),
        "rows": [
            {
                "key": row.number,
                "cells": list(compress(each, filled)),
                "record": record_cells(row),
                "ticked": "" if row.expected.in_figures else "ok",
            }
            for row, each in zip(rows, cells, strict=True)
        ],
    }
