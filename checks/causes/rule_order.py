"""Which findings a wire on another terminal may settle, and in which order rules are asked of an edit."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from ..findings.finding import Stage

if TYPE_CHECKING:
    from collections.abc import Iterable, Set

    from ..rule import Rule

NOT_BY_JOINS: Final = frozenset(
    {
        "ballast-mismatch",
        "battery-can-part",
        "capacitor-volts",
        "changed-feed",
        "charge-deficit",
        "colour-change",
        "crowded-ground",
        "crowded-seal",
        "crowded-terminal",
        "cut-lead",
        "expired-waiver",
        "fuse-not-selective",
        "house-colour",
        "house-connector",
        "house-size",
        "idle-waiver",
        "key-without-off",
        "latch-stuck",
        "live-pins",
        "look-alike-plugs",
        "lost-function",
        "missing-condenser",
        "missing-suppression",
        "not-judged",
        "over-temperature",
        "overloaded-fuse",
        "oversized-fuse",
        "polarity-changed",
        "shared-colour",
        "short-not-cleared",
        "short-wire",
        "starter-through-ground",
        "stiff-at-steering",
        "thin-conductor",
        "thin-return",
        "undecided",
        "unsealed",
        "wrong-terminal",
        "wrong-voltage",
    }
)
"""Rules of sizes, figures, workmanship and words: no wire on another terminal is what settles them."""

BY_COPPER: Final = ("battery-reversed", "split-ground", "grounded-winding", "exchanged-field")
"""Rules that refuse an edit by what is joined alone: asked before any logic is worked out (measured: of ten, one)."""
DEAR: Final = (
    "relay-chatter",
    "overcharge",
    "feedback-path",
    "undecided-path",
    "flasher-load",
    "lost-ground",
    "missing-suppression",
    "no-flasher",
    "not-judged",
    "oversized-fuse",
    "unfused-feed",
)
"""Rules that solve many states or walk many ways, and seldom refuse an edit: asked last (measured)."""


def in_order(rules: Iterable[Rule], found: Set[str], off: Set[str]) -> tuple[Rule, ...]:
    """Cheap rules of joins first, then those that ``found`` something, then all others; the dear ones come last. Those
    that judge what others found are not asked, nor those that the text turns ``off``.
    """

    def rank(rule: Rule) -> tuple[int, str]:
        if rule.stage is Stage.SUPPLY or rule.name in ("loose-end", "input-kind", "exchanged-field"):
            return 0, rule.name
        if rule.name in DEAR:
            return 5, rule.name
        if rule.stage is Stage.TOPOLOGY:
            return 1, rule.name
        return (4 if rule.stage is Stage.CONSEQUENCE else 3 if rule.name not in found else 2), rule.name

    return tuple(sorted((r for r in rules if not r.needs_all and r.name not in off), key=rank))
