"""The circuit as JSON; ``circuit.schema.json`` describes it."""

from __future__ import annotations

import json
from datetime import date

from ...checks.export import exported
from ...checks.study import Study
from ...lang.model.harness import Harness


def circuit_json(harness: Harness) -> str:
    """The circuit of a harness, a thing a line: two versions can be compared by lines."""
    document = exported(Study(harness, today=date.min))  # waivers are not asked for
    lines = []
    for name, value in document.items():
        if isinstance(value, list) and value:
            each = ",\n".join(f"  {_compact(one)}" for one in value)
            lines.append(f"{_compact(name)}: [\n{each}\n]")
        else:
            lines.append(f"{_compact(name)}: {_compact(value)}")
    return "{\n" + ",\n".join(lines) + "\n}\n"


def _compact(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(", ", ": "))
