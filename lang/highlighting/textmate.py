"""The TextMate grammar for ``.loom`` files. ``loom.tmLanguage.json`` is written from here; a test keeps it current."""

from __future__ import annotations

import json
from typing import Any

from .shapes import SHAPES, Shape

_SCOPES = {
    "comment": "comment.line.number-sign.loom",
    "string": "string.quoted.double.loom",
    "statement": "keyword.control.loom",
    "defined": "entity.name.type.loom",
    "kept": "keyword.operator.word.loom",
    "word": "support.constant.loom",
    "number": "constant.numeric.loom",
    "unit": "keyword.other.unit.loom",
    "colour": "constant.other.colour.loom",
    "part": "entity.name.class.loom",
    "terminal": "variable.other.member.loom",
    "name": "variable.other.loom",
    "punctuation": "punctuation.separator.loom",
}


def _pattern(shape: Shape) -> dict[str, Any]:
    if len(shape.roles) == 1:
        return {"match": shape.pattern, "name": _SCOPES[shape.roles[0]]}
    captures = {
        str(number): {"name": _SCOPES[role]} for number, role in enumerate(shape.roles, start=1) if role in _SCOPES
    }
    return {"match": shape.pattern, "captures": captures}


def grammar() -> str:
    """The grammar as JSON text. A quote that is not closed on its line is marked illegal, as the language has it."""
    patterns = [_pattern(shape) for shape in SHAPES if shape.roles != ("space",)]
    patterns.append({"match": '"[^"]*$', "name": "invalid.illegal.loom"})
    document = {
        "name": "Loomwright",
        "scopeName": "source.loom",
        "fileTypes": ["loom"],
        "patterns": patterns,
    }
    return json.dumps(document, indent=2, ensure_ascii=True) + "\n"
