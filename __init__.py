"""Loomwright: a text language for motorcycle wiring harnesses, with a checker and a renderer.

The public functions, each imported when it is first asked for::

    import datetime
    import loomwright

    reading = loomwright.read_file("bike.loom")
    report = loomwright.check(reading, today=datetime.date.today())
    drawing = loomwright.draw(reading.harness)
    loomwright.write(drawing, "bike.svg")

``check`` tells what it checked and what it found, never that a harness is safe.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from .checks.runner.run import Report, check
    from .lang.circuit.networkx_graph import graph
    from .lang.files.reading import UnreadableError, read_file, read_text
    from .lang.model.harness import Harness, Reading
    from .render.report.findings import report_text
    from .render.schematic.schematic import draw, write

__version__ = "0.1.0"

__all__ = [
    "Harness",
    "Reading",
    "Report",
    "UnreadableError",
    "__version__",
    "check",
    "draw",
    "graph",
    "read_file",
    "read_text",
    "report_text",
    "write",
]

_HOMES = {
    "Harness": "lang.model.harness",
    "Reading": "lang.model.harness",
    "Report": "checks.runner.run",
    "UnreadableError": "lang.files.reading",
    "check": "checks.runner.run",
    "draw": "render.schematic.schematic",
    "graph": "lang.circuit.networkx_graph",
    "read_file": "lang.files.reading",
    "read_text": "lang.files.reading",
    "report_text": "render.report.findings",
    "write": "render.schematic.schematic",
}
"""Where each public name lives."""


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        return getattr(import_module(f".{_HOMES[name]}", __name__), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted(__all__)
