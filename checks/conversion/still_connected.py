"""Whether consumers are connected in a changed circuit of a harness wherever they were before the change."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import TYPE_CHECKING

from ..logic.analysis import TooWideError
from ..logic.predicates import Joined
from .answers import answer, differences
from .matching import Match, common_controls

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ..logic import SwitchingLogic
    from .matching import Common


def still_connected(
    before: SwitchingLogic, after: SwitchingLogic, keys: Iterable[str], in_some: Collection[str] = ()
) -> bool:
    """Whether each of some consumers, by key, is connected to a source in every combination in which it was, and those
    ``in_some`` in one of these. So too where there are too many to tell, and where that depends on what other loads let
    through.
    """
    harness = before.circuit.harness
    common = common_controls(Match(harness, harness), before.circuit, after.circuit)
    return all(_is_still(before, after, key, common, key in in_some) for key in keys)


def _is_still(before: SwitchingLogic, after: SwitchingLogic, key: str, common: Sequence[Common], in_some: bool) -> bool:
    asked = Joined(key)
    try:
        was, now = answer(before, asked, common, "old"), answer(after, asked, common, "new")
    except TooWideError:
        return True
    if was.weak:
        return True  # by what may work on what comes through other loads: that is to end
    if in_some:
        return bool((now.may & now.likely).any()) or not (was.may & was.likely).any()
    return not any(each.row in ("lost", "depends") for each in differences(was, now, common))
