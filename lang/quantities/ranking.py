"""The greatest and the least of computed figures, so that what ties goes by place and not by its last digit.

Two machines add in different orders, so two figures that are equal come out as unequal by some 1e-12 of themselves,
and on another machine the other way round. What is within ``NOISE`` counts as equal here::

    largest([("A", 14.4), ("B", 14.4 + 1e-13)], key=lambda each: each[1])      # ("A", 14.4): the first of those
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from typing import Final, TypeVar, overload

T = TypeVar("T")
D = TypeVar("D")

NOISE: Final = 1e-8
"""Relative: far above what rounding leaves of a solution, far below what anybody measures (ours)."""

NOTHING: Final = 1e-12
"""V, A, or what the figure is in: so near to 0, two figures are equal (ours)."""


def exceeds(one: float, other: float, noise: float = NOISE) -> bool:
    """Whether ``one`` is greater than ``other`` by more than ``noise``, relative: more than that of rounding where
    figures are found step by step, until they change no more than so.
    """
    return one > other and not math.isclose(one, other, rel_tol=noise, abs_tol=NOTHING)


_NO_DEFAULT: Final = object()


@overload
def largest(items: Iterable[T], key: Callable[[T], float]) -> T: ...
@overload
def largest(items: Iterable[T], key: Callable[[T], float], default: D) -> T | D: ...
def largest(items: Iterable[T], key: Callable[[T], float], default: object = _NO_DEFAULT) -> object:
    """The first of those whose figure no other exceeds by more than noise.

    Raises ``ValueError`` where there are none and no ``default``.
    """
    known = [(key(item), item) for item in items]
    if not known:
        if default is _NO_DEFAULT:
            raise ValueError("nothing to choose from")
        return default
    most = max(figure for figure, _ in known)
    return next(item for figure, item in known if not exceeds(most, figure))


@overload
def smallest(items: Iterable[T], key: Callable[[T], float]) -> T: ...
@overload
def smallest(items: Iterable[T], key: Callable[[T], float], default: D) -> T | D: ...
def smallest(items: Iterable[T], key: Callable[[T], float], default: object = _NO_DEFAULT) -> object:
    """As ``largest``, the least."""
    if default is _NO_DEFAULT:
        return largest(items, lambda item: -key(item))
    return largest(items, lambda item: -key(item), default)


def ranked(items: Iterable[T], key: Callable[[T], float], noise: float = NOISE) -> list[T]:
    """All, the greatest first; those that differ from the one before by no more than ``noise``, relative, stay in their
    order.
    """
    known = sorted(((key(item), place, item) for place, item in enumerate(items)), key=lambda each: -each[0])
    found: list[T] = []
    tied: list[tuple[float, int, T]] = []
    for each in known:
        if tied and exceeds(tied[-1][0], each[0], noise):
            found.extend(item for _, _, item in sorted(tied, key=lambda other: other[1]))
            tied = []
        tied.append(each)
    found.extend(item for _, _, item in sorted(tied, key=lambda other: other[1]))
    return found
