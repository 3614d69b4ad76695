"""What a wire's colour looks like on a screen and on paper.

IEC 60757 names colours and says nothing of how to show them, so the values are the project's own (sRGB), kept with the
other figures in ``checks/tables/colours.toml``.
"""

from __future__ import annotations

from ...checks.tables.colours import shown
from ...lang.vocabulary.colours import Colour

__all__ = ["UNKNOWN", "base_and_stripe", "shown"]

UNKNOWN = "#5a5a5a"
"""A wire whose colour the text leaves out."""


def base_and_stripe(colour: Colour | None) -> tuple[str, str | None]:
    """The shown base colour of a wire and that of its stripe, ``None`` where it has none.

    Raises ``ValueError`` for a colour that the language does not have.
    """
    if colour is None:
        return UNKNOWN, None
    return shown(colour.base), shown(colour.stripe) if colour.stripe else None
