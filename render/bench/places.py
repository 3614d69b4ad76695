"""Where a part could be: what each place comes to, beside the place that it has."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Final

from ...checks.bench.locate import BEST, MOST
from ...lang.diagnostics.visible import visible
from ...lang.quantities.quantity import Quantity, shown
from ..report.findings import counted
from .sheets import columns, millimetres

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ...checks.bench.locate import Judged, Located, Tried
    from ...checks.findings.finding import Finding

CAUTION: Final = (
    "These are figures from the harness file. Heat, water, reach and what moves are for you to judge at the motorcycle."
)
_MOST_NAMES: Final = 6


def places_text(found: Located) -> str:
    """A row a place, the least copper first, ending in a line feed."""
    head = ("", "wire", "copper", "longest piece", "across the steering", "worst drop", "findings")
    rows = [head, _row(found.now, found.now.tried), *(_row(each, found.now.tried) for each in found.best)]
    lines = columns(rows, right=(1, 2, 3, 4, 5), indent="")
    for each in found.best:
        lines += [f"{_named(each.tried)}: {line}" for line in _notes(each)]
    count = counted(found.count, "combination" if len(found.now.tried.places) > 1 else "place")
    lines.append(
        f"{count} tried"
        + ("" if found.together else f", one part at a time: all together are more than {shown(MOST)} combinations")
        + (f"; the best {shown(BEST)} by copper are shown" if found.count > BEST else "")
    )
    lines.append(CAUTION)
    return "".join(f"{visible(line).rstrip()}\n" for line in lines)


def _named(tried: Tried) -> str:
    return ", ".join(f"{part} at {place or 'no place'}" for part, place in tried.places)


def _row(each: Judged, now: Tried) -> tuple[str, ...]:
    tried = each.tried
    is_now = tried is now
    drop = "" if each.drop is None else shown(Quantity(100 * each.drop, "%"))
    changed = [f"{len(each.new)} new" if each.new else "", f"{len(each.gone)} gone" if each.gone else ""]
    return (
        f"{_named(tried)}{' (now)' if is_now else ''}",
        shown(Quantity(tried.metres, "m")),
        shown(Quantity(1000 * tried.copper, "g")),
        millimetres(tried.longest),
        shown(tried.steering),
        drop,
        "as they are" if is_now else ", ".join(word for word in changed if word) or "the same",
    )


def _notes(each: Judged) -> list[str]:
    """What no column shows: findings by rule, pieces out of reach, kept wires of another length."""
    said = [_findings(each.new, "new"), _findings(each.gone, "gone")]
    if each.tried.unreached:
        said.append(f"no length for {_listed(each.tried.unreached)}: no routes lead there, or two as short ones")
    if each.tried.kept:
        said.append(f"kept wires of another length: {_listed(each.tried.kept)}")
    return [line for line in said if line]


def _findings(found: Sequence[Finding], word: str) -> str:
    """The most severe in full, all by rule."""
    if not found:
        return ""
    rules = ", ".join(f"{rule} ({shown(count)})" for rule, count in sorted(Counter(f.rule for f in found).items()))
    return f"{word}: {rules}; first: {found[0].message}"


def _listed(names: Sequence[str]) -> str:
    more = f" and {len(names) - _MOST_NAMES} more" if len(names) > _MOST_NAMES else ""
    return ", ".join(names[:_MOST_NAMES]) + more
