"""For the next owner, in a page: the same sections as on paper."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from typing import TYPE_CHECKING

from ...lang.diagnostics.visible import visible
from ..drawing.colours import base_and_stripe
from ..report.next_owner import Entry, ForNextOwner, Section

if TYPE_CHECKING:
    from ...lang.vocabulary.colours import Colour


def next_owner_html(found: ForNextOwner, *, top: int = 2) -> str:
    """All sections as HTML that is safe as it is; the heading of each has the level ``top``."""
    parts = [f"<p>{_text(found.system)}. {_text(found.caution)}</p>"]
    parts += [line for section in found.sections for line in _section(section, top)]
    return "\n".join(parts)


def _section(section: Section, top: int) -> Iterator[str]:
    yield f"<h{top}>{_text(section.title)}</h{top}>"
    for group in section.groups:
        if group.title:
            yield f"<h{top + 1}>{_text(group.title)}</h{top + 1}>"
        yield f"<dl>{''.join(map(_entry, group.entries))}</dl>"


def _entry(entry: Entry) -> str:
    colour = colour_svg(entry.colour) if entry.colour is not None else ""
    return f'<dt dir="auto">{colour}{_text(entry.term)}</dt><dd dir="auto">{_text(entry.words)}</dd>'


def colour_svg(colour: Colour) -> str:
    """A bit of wire in its colours, beside its name in letters."""
    base, stripe = base_and_stripe(colour)
    band = f'<rect y="4" width="28" height="4" fill="{stripe}"/>' if stripe else ""
    return (
        '<svg class="colour" width="30" height="14" viewBox="-1 -1 30 14" aria-hidden="true">'
        f'<rect width="28" height="12" fill="{base}"/>{band}'
        '<rect width="28" height="12" fill="none" stroke="#111111"/></svg> '
    )


def _text(words: str) -> str:
    return escape(visible(words))
