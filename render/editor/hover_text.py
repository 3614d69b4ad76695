"""What an editor shows of the thing under the cursor."""

from __future__ import annotations

from ...lang.diagnostics.diagnostic import Span
from ...lang.records import dataclass


@dataclass(frozen=True, slots=True)
class Hover:
    """Markdown about what is at ``span``."""

    text: str
    span: Span
