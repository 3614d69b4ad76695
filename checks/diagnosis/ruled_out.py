"""What something else has shown not to be there, before symptoms are explained."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import field

from ...lang.records import dataclass


@dataclass(frozen=True)
class RuledOut:
    """``faults`` in the words of ``Fault``; ``joints``: by branch key the most ohms that a bad joint there may have."""

    faults: frozenset[str] = frozenset()
    joints: Mapping[str, float] = field(default_factory=dict)

    def most_ohms(self, key: str) -> float:
        """What a joint may have at most; any where nothing is known."""
        return self.joints.get(key, math.inf)

    def opened(self, key: str) -> bool:
        """Whether a branch is known not to be open."""
        return f"{key} open" in self.faults

    def and_also(self, faults: frozenset[str]) -> RuledOut:
        return RuledOut(self.faults | faults, self.joints)


NOTHING = RuledOut()
