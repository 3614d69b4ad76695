"""What another processor does to the figures: each solution is off by a few units in the twelfth digit.

Libraries of linear algebra add in an order that fits the processor, so two machines solve one circuit to figures that
differ in their last digits. What is stated must not: ``python tests/rounding_noise.py [RULE]...`` checks the harnesses
of the rules with such noise, three times over, and prints each whose text is not the one beside it.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from unittest.mock import patch

import numpy as np
from golden_findings import harnesses, printed

from loomwright.checks.dc import prepared
from loomwright.checks.dc.newton import Inner
from loomwright.checks.fmea.multiport import Multiport

SIZE = 1e-12
"""Relative; an inverse of a network with ohms from a milliohm to a megohm is known to about that."""


@contextmanager
def noise(seed: int) -> Iterator[None]:
    """Solutions off by up to some ``SIZE``, differently for each seed."""
    random = np.random.default_rng(seed)

    def off(volts: Any) -> Any:
        return volts * (1.0 + SIZE * random.standard_normal(volts.shape))

    exact, exact_inner, exact_many = prepared.solve, Inner.solve, Multiport._newton

    def solved(*given: Any) -> Any:
        return off(exact(*given))

    def solved_inner(*given: Any) -> Any:
        return off(exact_inner(*given))

    def solved_many(self: Multiport, *given: Any) -> Any:
        kept, good = exact_many(self, *given)
        return off(kept), good

    with (
        patch.object(prepared, "solve", solved),
        patch.object(Inner, "solve", solved_inner),
        patch.object(Multiport, "_newton", solved_many),
    ):
        yield


def unsteady(seed: int, rules: tuple[str, ...] = ("*",)) -> list[str]:
    """The harnesses of these rules of which something else is stated with this noise."""
    found = []
    for rule in rules:
        for path in harnesses(rule):
            with noise(seed):
                if printed(path) != path.with_suffix(".txt").read_text("utf-8"):
                    found.append(f"{path.parent.name}/{path.stem}")
    return found


if __name__ == "__main__":
    found = [f"seed {seed}: {name}" for seed in (1, 2, 3) for name in unsteady(seed, tuple(sys.argv[1:]) or ("*",))]
    print("\n".join(found))
    sys.exit(bool(found))
