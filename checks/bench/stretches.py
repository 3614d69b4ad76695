"""What lies in each stretch of route: pieces, copper, mass, how thick the bundle is and how tightly it may bend."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

from ...lang.records import dataclass
from ...lang.resolve.routes import SLACK
from ..tables.bench import bench_figure, bundle_diameter, mass_per_metre

if TYPE_CHECKING:
    from ...lang.model.harness import Harness
    from ...lang.model.wires import Route
    from .pieces import Piece


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """The new pieces along one route.

    ``sizes`` counts them by size as written; ``unsized`` are those of no size, which are in no figure. ``tight`` and
    ``loose`` are the bundle's diameter in mm, pulled tight and in a sleeve; ``bend`` the least radius in mm of its
    bends. ``copper`` and ``mass`` in kg, slack counted in.
    """

    a: str
    b: str
    length: float
    cover: Literal["braid", "tape", "tube", "loose"] | None
    flexing: bool
    pieces: tuple[str, ...]
    sizes: tuple[tuple[str, int], ...]
    unsized: tuple[str, ...]
    tight: float
    loose: float
    bend: float
    copper: float
    mass: float


def stretches(harness: Harness, pieces: Iterable[Piece]) -> tuple[Stretch, ...]:
    """The stretches that pieces run along, in the order of the routes; kept pieces are left out."""
    along: dict[frozenset[str], list[Piece]] = {}
    for piece in pieces:
        if not piece.kept:
            for pair in pairwise(piece.route):
                along.setdefault(frozenset(pair), []).append(piece)
    default = SLACK if harness.fitting.slack is None else harness.fitting.slack
    return tuple(
        _stretch(route, along[key], default)
        for route in harness.routes
        if (key := frozenset((route.a, route.b))) in along
    )


def _stretch(route: Route, here: list[Piece], default: float) -> Stretch:
    sized = [piece for piece in here if piece.size is not None]
    cores = [piece.core for piece in sized if piece.core is not None]
    laid = route.length * (1.0 + (default if route.slack is None else route.slack))
    masses = [mass_per_metre(piece.size.area) for piece in sized if piece.size is not None]
    loose = bundle_diameter(cores, tight=False)
    counted = Counter(piece.size.text for piece in sized if piece.size is not None)
    return Stretch(
        a=route.a,
        b=route.b,
        length=route.length,
        cover=route.cover,
        flexing=route.flexing,
        pieces=tuple(piece.name for piece in here),
        sizes=tuple(sorted(counted.items(), key=lambda item: (-item[1], item[0]))),
        unsized=tuple(piece.name for piece in here if piece.size is None),
        tight=bundle_diameter(cores, tight=True),
        loose=loose,
        bend=bench_figure("bend").value * loose,
        copper=laid * sum(copper for copper, _ in masses),
        mass=laid * sum(mass for _, mass in masses),
    )
