"""What a conductor may carry continuously: the ampacity of a size, an insulation class and an ambient.

Figures are read from ``ampacity.toml``: 33 CFR 183.425 table 5 for the profile "boat-law", others for other profiles,
and one more for wires thinner than those begin with. Areas in mm2, temperatures in degC, currents in A.
"""

from __future__ import annotations

import math
from functools import cache, lru_cache

from ...lang.named_tuples import NamedTuple
from ...lang.quantities.quantity import shown
from .conductors import awg_area, awg_name, insulation_class
from .profiles import DEFAULT, Profile, profile_named
from .sourced import Cited, figure, rows


class Ampacity(NamedTuple):
    """What a conductor may carry continuously, and how that was found.

    ``amps`` A, or ``None`` where no published figure holds (``why`` tells; the conductor is then not judged, never
    taken as good). ``size`` is the row taken, ``column`` its insulation temperature in degC, ``tabulated`` its A at the
    table's own ambient, ``factor`` what that was multiplied with. ``beyond`` is true where the profile's table has no
    conductor so thin and the table for fine wires was used, or where nothing was found. ``certain`` is the A
    above which a figure that was read says so, too: an error rests on it and never on a row from memory alone; equal to
    ``amps`` where the row itself was read.
    """

    amps: float | None
    column: float | None
    factor: float
    why: str
    source: Cited | None
    size: str = ""
    tabulated: float | None = None
    beyond: bool = False
    certain: float | None = None


class AmpacityTable(NamedTuple):
    """Conductors by area, thinnest first, each with its A in each column. ``base`` degC is the ambient they are for."""

    name: str
    base: float
    extension: str
    columns: tuple[float, ...]
    sizes: tuple[AmpacityRow, ...]
    cited: Cited


class AmpacityRow(NamedTuple):
    """A conductor of a table: area in mm2, its name, and A in the order of the table's columns."""

    area: float
    name: str
    amps: tuple[float, ...]


@cache
def ampacity_table(name: str) -> AmpacityTable:
    """The table called ``name``. Raises ``ValueError`` for a name that is none, with those that are."""
    known = {row["name"]: row for row in rows("ampacity", "tables")}
    if name not in known:
        raise ValueError(f"ampacity table {name!r} is none of {', '.join(known)}")
    head, body = known[name], rows("ampacity", name)
    columns = [column for column in body[0].cells if column.isdigit()]
    sizes = [
        AmpacityRow(
            awg_area(row["gauge"]) if "gauge" in row.cells else float(row["area"]),
            awg_name(row["gauge"]) if "gauge" in row.cells else f"{row['area']:.4g} mm2",
            tuple(float(row[column]) for column in columns),
        )
        for row in body
    ]
    return AmpacityTable(
        name,
        float(head["base"]),
        head["extension"],
        tuple(float(column) for column in columns),
        tuple(sorted(sizes, key=lambda size: size.area)),
        head.cited,
    )


@lru_cache(maxsize=4096)
def ampacity(
    area: float, wire_class: str, ambient: float, profile: Profile | str = DEFAULT, in_bundle: int = 1
) -> Ampacity:
    """What a copper conductor of ``area`` mm2 may carry continuously at ``ambient`` degC.

    The row is the largest conductor of the profile's table not above ``area``; the column the highest tabulated
    temperature Tc not above that of ``wire_class`` (a letter, A to H); the factor sqrt((Tc - Ta) / (Tc - Tb)) for the
    table's ambient Tb, never above 1, since a table is a ceiling. ``in_bundle`` counts the loaded conductors that lie
    together; it matters only where the profile says so (the law asks for it from 50 V up).

    Thinner than the table begins, the profile's table for fine wires is used in the same way, with the same Tc, and
    ``beyond`` is set: its one column is carried to Tc by the square-root law. Thinner than that too, the last row in
    proportion to the area (ours): a real wire may carry a little more, since it has more surface for its copper. Where
    no column is low enough for the class, ``amps`` is ``None``. Raises ``ValueError`` for an unknown class or profile,
    or an area not above zero.
    """
    if not area > 0.0:
        raise ValueError(f"a conductor's area must be above 0 mm2, found {area}")
    rules = profile_named(profile) if isinstance(profile, str) else profile
    found = _tabulated(area, wire_class, ambient, rules, in_bundle)
    if found.amps is None or found.source is None or not found.source.from_memory:
        return found._replace(certain=found.amps)
    return found._replace(certain=max(found.amps, _certain(area, wire_class, ambient)))


def _certain(area: float, wire_class: str, ambient: float) -> float:
    """The A at ``ambient`` degC above which a conductor is too hot by a row that was read.

    From 18 AWG up 33 CFR 183.425. Below, what gives as many watts a metre as the next thicker row of the gauges that
    were read: a thinner wire has less surface to part with them.
    """
    highest = insulation_class(wire_class).highest
    table = ampacity_table(DEFAULT)
    place = max(place for place, column in enumerate(table.columns) if column <= highest)
    size, branch_type = _largest_within(table, area), min(1.0, _root(table.columns[place], ambient, table.base))
    if size is not None:
        return size.amps[place] * branch_type
    fine = ampacity_table("fine-gauges")
    above = next(row for row in fine.sizes if row.area * (1.0 + figure("ampacity", "area_tolerance").value) >= area)
    factor = _root(table.columns[place], max(ambient, table.base), fine.base, fine.columns[0])
    return min(
        above.amps[0] * factor * math.sqrt(min(1.0, area / above.area)),
        table.sizes[0].amps[place] * branch_type * math.sqrt(area / table.sizes[0].area),
    )


def _tabulated(area: float, wire_class: str, ambient: float, rules: Profile, in_bundle: int) -> Ampacity:
    """The answer by the profile's tables."""
    highest = insulation_class(wire_class).highest
    table = ampacity_table(rules.ampacity)
    fitting = [place for place, column in enumerate(table.columns) if column <= highest]
    if not fitting:
        begins = f"{table.cited.source} begins at {shown(table.columns[0])} degC insulation"
        why = f"{begins}; class {wire_class} withstands {shown(highest)} degC"
        return Ampacity(None, None, 1.0, why, table.cited, beyond=True)
    place, column = fitting[-1], table.columns[fitting[-1]]
    bundle = bundle_factor(in_bundle) if rules.bundle else 1.0

    size = _largest_within(table, area)
    if size is not None:
        factor = min(1.0, _root(column, ambient, table.base)) * bundle
        tabulated = size.amps[place]
        rated = f"{size.name}, column {_class(column, wire_class, highest)}: {shown(tabulated)} A"
        why = _words(rated, column, ambient, table.base, factor, bundle)
        return Ampacity(tabulated * factor, column, factor, why, table.cited, size.name, tabulated)

    begins = f"{table.cited.source} begins at {table.sizes[0].name}"
    if table.extension:
        fine = ampacity_table(table.extension)
        size, own = _largest_within(fine, area), fine.columns[0]
        taken = size or fine.sizes[0]
        # A fine wire never gets more than the table's ambient allows, nor than the thicker row above it.
        factor = _root(column, max(ambient, table.base), fine.base, own) * bundle
        tabulated, cited = taken.amps[0], fine.cited
        rated = f"{taken.name} at {shown(own)} degC: {shown(tabulated)} A"
        carried = f"a conductor at {_class(column, wire_class, highest)} against {shown(own)} degC, and "
        words = _words(rated, column, ambient, fine.base, factor, bundle, carried)
        why = f"{begins}; {fine.cited.source} taken: {words}"
    else:
        size, taken = None, table.sizes[0]
        factor = min(1.0, _root(column, ambient, table.base)) * bundle
        tabulated, cited = taken.amps[place], table.cited
        rated = f"{taken.name}, column {_class(column, wire_class, highest)}: {shown(tabulated)} A"
        why = f"{begins}: {_words(rated, column, ambient, table.base, factor, bundle)}"
    if size is None:
        share = area / taken.area
        factor *= share
        why += f"; thinner than the table's end at {taken.name}: in proportion to its area ({shown(share)})"
    return Ampacity(tabulated * factor, column, factor, why, cited, taken.name, tabulated, beyond=True)


def bundle_factor(conductors: int) -> float:
    """The factor for this many loaded conductors lying together (33 CFR 183.425 table 5 note 2; law from 50 V up)."""
    within = [row["factor"] for row in rows("ampacity", "bundle") if row["conductors"] <= max(1, conductors)]
    return float(within[-1])


def _largest_within(table: AmpacityTable, area: float) -> AmpacityRow | None:
    widest = area * (1.0 + figure("ampacity", "area_tolerance").value)
    within = [size for size in table.sizes if size.area <= widest]
    return within[-1] if within else None


def _root(column: float, ambient: float, base: float, own: float | None = None) -> float:
    """sqrt of the temperature rise that is left over the one the figure was found at; 0 where none is left."""
    return math.sqrt(max(0.0, column - ambient) / ((own or column) - base))


def _class(column: float, letter: str, highest: float) -> str:
    return f"{shown(column)} degC for class {letter} ({shown(highest)} degC)"


def _words(
    rated: str, column: float, ambient: float, base: float, factor: float, bundle: float, carried: str = ""
) -> str:
    """How a figure of a table becomes that of a wire: ``rated`` says which it is, ``factor`` what it is times,
    ``carried`` from which temperature of the copper to which other.
    """
    reason = f"{carried}ambient {shown(ambient)} against {shown(base)} degC"
    if ambient >= column:
        reason += ": no rise is left"
    reason += f", bundle factor {shown(bundle)}" if bundle != 1.0 else ""
    return f"{rated}, {reason}" if factor == 1.0 else f"{rated}, times {shown(factor)} for {reason}"
