"""One harness as one HTML file: drawings, a control panel that works, faults and findings. It fetches nothing."""

from __future__ import annotations

import base64
import json
import zlib
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from ...checks.export import exported
from ...lang.diagnostics.visible import visible
from ..drawing.svg import svg_text
from ..schematic.schematic import drawings
from ..schematic.selection import systems_of
from ..schematic.symbols.drawn import Now
from . import facts
from .bench_sheets import bench_sheets
from .found import findings
from .in_advance import in_advance
from .policy import allowed
from .scripts import HERE, PAGE, SOLVER, script
from .told import told

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ...checks.runner.run import Report, RuleStudy
    from ...checks.study import Study
    from ..drawing.layout_engine import EngineName
    from .log import Log

WHOLE: Final = "whole harness"
CAUTION: Final = (
    "Calculated from the harness as its text has it; the motorcycle may differ. The findings say what was checked, and "
    "no more is claimed: measure before you trust a wire."
)
ON_THE_PANEL: Final = Now(says="Contacts are as set on the panel.", positions={}, active=None, notes={})
"""Scripts move the contacts, so the drawing does not say that it is at rest."""


def page(report: Report, study: RuleStudy, *, log: Log | None = None, engine: EngineName | None = None) -> str:
    """The page of a harness without errors, of what was found in it and of its build log; always the same text.

    Raises :class:`~loomwright.render.drawing.layout_engine.NoEngine`.
    """
    title = visible(study.harness.title or study.harness.file)
    style, code = (HERE / "page.css").read_text("utf-8"), script((*SOLVER, *PAGE))
    policy = (
        f"default-src 'none'; script-src {allowed(code)}; style-src {allowed(style)}; img-src data:; "
        "base-uri 'none'; form-action 'none'"
    )
    frame = (HERE / "page.html").read_text("utf-8")
    fields = {
        "policy": policy,
        "title": escape(title),
        "style": style,
        "caution": escape(CAUTION),
        "told": told(report, study, log),
        "data": _data(_known(report, study, engine)),
        "script": code,
    }
    for name, text in fields.items():
        before, after = frame.split(f"<!-- {name} -->")
        frame = before + text + after
    return frame


def _known(report: Report, study: Study, engine: EngineName | None) -> dict[str, Any]:
    """What the scripts are given."""
    return {
        "circuit": exported(study),
        "in_advance": _packed(json.dumps(in_advance(study), ensure_ascii=False, separators=(",", ":"))),
        "wires": facts.wires(study),
        "parts": facts.parts(study),
        "devices": facts.devices(study),
        "grounds": facts.grounds(study),
        "profile": report.profile,
        "rules": report.rules,
        "findings": findings(report),
        "stem": Path(study.harness.file).stem,
        "file": Path(study.harness.file).name,
        "bench": bench_sheets(study.harness),
        "sheets": list(_sheets(study, engine)),
    }


def _sheets(study: Study, engine: EngineName | None) -> Iterator[dict[str, str]]:
    """The drawings, deflated (RFC 1951): as text all of them would take a megabyte."""
    systems = (*systems_of(study.harness), None)
    for system, drawing in zip(systems, drawings(study.harness, systems, now=ON_THE_PANEL, engine=engine), strict=True):
        yield {"name": system or WHOLE, "svg": _packed(svg_text(drawing, f"{system or 'whole'}-"))}


def _packed(text: str) -> str:
    deflate = zlib.compressobj(9, zlib.DEFLATED, -zlib.MAX_WBITS)
    return base64.b64encode(deflate.compress(text.encode()) + deflate.flush()).decode("ascii")


def _data(known: dict[str, Any]) -> str:
    """JSON that no parser of HTML takes for the end of its element."""
    return json.dumps(known, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c")
