"""Parts of the page that need no script: charts, old against new, the build log, and for the next owner."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from html import escape
from typing import TYPE_CHECKING

from ...checks.conversion.comparison import Comparison
from ...checks.conversion.difference import compared
from ...checks.conversion.new_findings import finding_changes
from ...checks.conversion.side import Side
from ...checks.operation.load_drops import load_drops
from ...checks.operation.operating_points import state_tables
from ...checks.runner.run import RuleStudy, check_examined
from ...lang.diagnostics.visible import visible
from ..report.charts import state_charts
from ..report.comparison import closing, sections
from ..report.next_owner import for_next_owner
from .charts import charts_html
from .next_owner import next_owner_html

if TYPE_CHECKING:
    from ...checks.runner.run import Report
    from .log import Log

TOP = 3
"""The level of the first heading below that of a part of the page."""


def told(report: Report, study: RuleStudy, log: Log | None) -> str:
    """All of them that there are, as HTML."""
    parts: tuple[tuple[str, str, Iterable[str]], ...] = (
        ("charts", "Charts", _charts(study)),
        ("old-against-new", "Old against new", _against_old(report, study)),
        ("build-log", "Build log", (log.html,) if log else ()),
        ("next-owner", "For the next owner", (next_owner_html(for_next_owner(study.harness), top=TOP),)),
    )
    return "\n".join(_part(name, title, lines) for name, title, found in parts if (lines := list(found)))


def _part(name: str, title: str, lines: Iterable[str]) -> str:
    head = f'<section id="{name}" aria-labelledby="{name}-title"><h2 id="{name}-title">{title}</h2>'
    return "\n".join((head, *lines, "</section>"))


def _charts(study: RuleStudy) -> Iterator[str]:
    """How near fuses are to their ratings, what wires lose, and the battery's balance, in the named states."""
    tables = list(state_tables(study.operation, study.profile))
    charts = state_charts(tables, load_drops(study.operation, study.harness.states), study.profile)
    if charts:
        yield charts_html(charts)


def _against_old(report: Report, study: RuleStudy) -> Iterator[str]:
    """What differs from the harness that this one converts, and which findings are new, or settled."""
    old = study.old_reading
    if old is None or study.harness.conversion.converts is None:
        return
    before = check_examined(old, RuleStudy(old.harness, today=study.today, otherwise=study.profile, old=old.old))
    comparison = Comparison(Side(old.harness), Side(study.harness), by_ends=True)
    found = compared(comparison, study.harness.conversion.converts, study.harness.file, with_faults=False)
    if not before.mistakes:
        found = replace(found, findings=finding_changes(comparison.match, before.findings, report.findings))
    for title, rows in sections(found):
        items = "".join(f'<li dir="auto">{_text(row)}</li>' for row in rows)
        yield f"<details><summary>{_text(title)}</summary><ul>{items}</ul></details>"
    yield from (f"<p>{_text(line)}</p>" for line in closing(found, options=False))
    if before.mistakes:
        first = before.mistakes[0]
        yield f"<p>{_text(f'No findings of the old harness: {first.span}: {first.message}.')}</p>"


def _text(words: str) -> str:
    return escape(visible(words)).replace("-&gt;", "→")
