"""Glyphs side by side between bars, with an actuator or a table of contacts where a switch has them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from math import ceil

from ....lang.records import dataclass
from ...drawing import lettering
from ...drawing.primitives import Circle, Dash, Keyed, Shape, Text, moved
from .actuators import Actuator, actuator
from .glyph import Glyph, Side, polyline, rectangle
from .symbol import BAR_PITCH, EDGE, INFO_SIZE, LINE, NAME_SIZE, PIN_SIZE, PIN_ZONE, Port, Symbol

ROW = 9.5
"""Height of a row of a contact table."""


@dataclass(frozen=True, slots=True)
class Column:
    """A glyph between terminals: the upper ends' names and the lower ones', as many as the glyph has.

    ``group`` holds the glyph's shapes where it is for one element or contact.
    """

    glyph: Glyph
    tops: tuple[str, ...]
    bottoms: tuple[str, ...]
    caption: tuple[str, ...] = ()
    group: Keyed | None = None


_PLAIN = Glyph((polyline((0, 0), (0, 10)),), 1, 1, 10)


@dataclass(frozen=True, slots=True)
class _Hook:
    terminal: str
    x: float
    upper: bool


def columns(
    kind: str,
    name: str,
    lines: Sequence[str],
    body: Sequence[Column],
    *,
    sides: Mapping[str, Side],
    outline: Dash | None = None,
    worked: Actuator = "",
    rows: Sequence[tuple[str, frozenset[int]]] = (),
) -> Symbol:
    """Glyphs side by side between terminals, with their lettering.

    ``sides`` says on which edge each terminal leaves. ``outline`` is a line around all (``""``: solid); ``None``: no
    outline. ``rows`` is a contact table: a position's name, and which columns are closed in it.
    """
    body = list(body)
    upper_hooks = {t for column in body for t in column.tops}
    lower_hooks = {t for column in body for t in column.bottoms}
    for terminal, side in sides.items():  # a terminal that is needed on the other side too is led through
        if (side == "top" and terminal in lower_hooks) or (side == "bottom" and terminal in upper_hooks):
            body.append(Column(_PLAIN, (terminal,), (terminal,)))

    rows_width = max((lettering.width(title, PIN_SIZE) for title, _ in rows), default=0.0)
    reach = actuator(worked, 0, 0)[1]
    pad = 5.0 if outline is not None else 0.0
    x = EDGE + pad + max(reach, rows_width + 5 if rows else 0.0)
    axes = []
    for column in body:
        pin_reach = max(
            (
                hook + 3 + lettering.width(t, PIN_SIZE)
                for ends, xs in ((column.tops, column.glyph.tops), (column.bottoms, column.glyph.bottoms))
                for t, hook in zip(ends, xs, strict=True)
            ),
            default=0.0,
        )
        caption = max((lettering.width(words, PIN_SIZE) for words in column.caption), default=0.0)
        axes.append(float(ceil(x + column.glyph.left)))  # ports are on whole pixels, as the engines want them
        right = max(column.glyph.right + (3 + caption if caption else 0), pin_reach, 9.0 if rows else 0.0)
        x = axes[-1] + right + 4
    inner_right = x - 4 + pad

    hooks = [
        _Hook(t, axis + dx, True)
        for axis, column in zip(axes, body, strict=True)
        for t, dx in zip(column.tops, column.glyph.tops, strict=True)
    ] + [
        _Hook(t, axis + dx, False)
        for axis, column in zip(axes, body, strict=True)
        for t, dx in zip(column.bottoms, column.glyph.bottoms, strict=True)
    ]
    ports = []
    for terminal, side in sides.items():
        own = [hook.x for hook in hooks if hook.terminal == terminal and hook.upper == (side == "top")]
        if own:
            ports.append(Port(terminal, side, own[(len(own) - 1) // 2]))

    text_lines = [Text(name, (0, 0), NAME_SIZE, bold=True)] if name else []
    text_lines += [Text(words, (0, 0), INFO_SIZE) for words in lines]
    text_height = LINE * len(text_lines)
    middle = max([column.glyph.height for column in body] + [text_height - 2 * PIN_ZONE])
    above = _bars(hooks, upper=True)
    below = _bars(hooks, upper=False)
    top_zone = PIN_ZONE + BAR_PITCH * (1 + max(above.values())) if above else PIN_ZONE
    table = ROW * len(rows)
    bottom_zone = PIN_ZONE + BAR_PITCH * (1 + max(below.values())) if below else PIN_ZONE
    if outline is not None:
        top_zone += 4
        bottom_zone += 4
    height = top_zone + middle + table + bottom_zone
    glyph_middle = top_zone + middle / 2

    shapes: list[Shape] = []
    for axis, column in zip(axes, body, strict=True):
        glyph = column.glyph
        lift = glyph_middle - glyph.height / 2
        if glyph is _PLAIN:
            continue
        drawn = tuple(moved(shape, axis, lift) for shape in glyph.shapes)
        shapes.extend(drawn if column.group is None else (replace(column.group, shapes=drawn),))
        for row, words in enumerate(column.caption):
            y = glyph_middle + PIN_SIZE * 0.36 + (row - (len(column.caption) - 1) / 2) * (PIN_SIZE + 1.5)
            shapes.append(Text(words, (axis + glyph.right + 3, y), PIN_SIZE))
    shapes.extend(_leads(body, axes, hooks, ports, above, below, top_zone, middle, table, height))
    if rows:
        shapes.extend(_contact_table(rows, axes, top_zone + middle, EDGE + pad, inner_right - pad))
    if worked:
        blade = axes[0] - (5 if body[0].glyph.left > 4 else -3)
        shapes.extend(actuator(worked, glyph_middle, blade)[0])
        last = axes[len(body) - 1 - sum(1 for c in body if c.glyph is _PLAIN)]
        if last > axes[0]:
            shapes.append(polyline((blade, glyph_middle), (last - 3, glyph_middle), dash="dashed", weight=1.0))
    if outline is not None:
        shapes.append(rectangle(EDGE, PIN_ZONE, inner_right, height - PIN_ZONE, outline))
    text_x = inner_right + 4
    first = max(glyph_middle - text_height / 2, 0) + LINE * 0.78
    for index, text in enumerate(text_lines):
        shapes.append(replace(text, at=(text_x, first + LINE * index)))
    text_right = text_x + max((text.width for text in text_lines), default=0.0)
    return Symbol(kind, text_right + EDGE, max(height, text_height), tuple(shapes), tuple(ports))


def _bars(hooks: Sequence[_Hook], *, upper: bool) -> dict[str, int]:
    """The level of the bar that joins the glyphs of one terminal, for those that need one; 0 is next to the glyphs."""
    spans: dict[str, tuple[float, float]] = {}
    for terminal in dict.fromkeys(hook.terminal for hook in hooks):
        xs = [hook.x for hook in hooks if hook.terminal == terminal and hook.upper == upper]
        if len(xs) > 1:
            spans[terminal] = (min(xs), max(xs))
    levels: dict[str, int] = {}
    for terminal, (left, right) in sorted(spans.items(), key=lambda item: (item[1][1] - item[1][0], item[0])):
        taken = {
            level for other, level in levels.items() if spans[other][0] <= right + 2 and left - 2 <= spans[other][1]
        }
        levels[terminal] = next(level for level in range(len(spans)) if level not in taken)
    return levels


def _leads(
    body: Sequence[Column],
    axes: Sequence[float],
    hooks: Sequence[_Hook],
    ports: Sequence[Port],
    above: Mapping[str, int],
    below: Mapping[str, int],
    top_zone: float,
    middle: float,
    table: float,
    height: float,
) -> Iterable[Shape]:
    """The thin lines inside: from the ports to the bars, from the bars to the glyphs; and the terminals' names."""
    heights = {}
    for axis, column in zip(axes, body, strict=True):
        glyph = column.glyph
        lift = 0.0 if glyph is _PLAIN else (middle - glyph.height) / 2
        for dx in glyph.tops:
            heights[axis + dx, True] = top_zone + lift
        for dx in glyph.bottoms:
            heights[axis + dx, False] = top_zone + middle - lift
        if glyph is _PLAIN:
            yield polyline((axis, top_zone), (axis, top_zone + middle))
    foot = top_zone + middle + table
    by_side = {port.terminal: port for port in ports}
    for hook in hooks:
        levels = above if hook.upper else below
        port = by_side.get(hook.terminal)
        own_side = port is not None and (port.side == "top") == hook.upper
        start = heights[hook.x, hook.upper]
        if hook.terminal in levels:
            level = levels[hook.terminal]
            bar = top_zone - 3 - BAR_PITCH * level if hook.upper else foot + 3 + BAR_PITCH * level
            yield polyline((hook.x, start), (hook.x, bar))
        elif own_side:
            yield polyline((hook.x, start), (hook.x, 0.0 if hook.upper else height))
    for levels, upper in ((above, True), (below, False)):
        for terminal, level in levels.items():
            xs = sorted(hook.x for hook in hooks if hook.terminal == terminal and hook.upper == upper)
            bar = top_zone - 3 - BAR_PITCH * level if upper else foot + 3 + BAR_PITCH * level
            yield polyline((xs[0], bar), (xs[-1], bar))
            port = by_side.get(terminal)
            led_out = port is not None and (port.side == "top") == upper
            if port is not None and led_out:
                yield polyline((port.x, bar), (port.x, 0.0 if upper else height))
            for x in xs:
                at_port = led_out and port is not None and x == port.x
                if xs[0] < x < xs[-1] or (led_out and port is not None and at_port):
                    yield Circle((x, bar), 1.6, filled=True)
    for port in ports:
        y = 7.5 if port.side == "top" else height - 2.5
        yield Text(port.terminal, (port.x + 3, y), PIN_SIZE, tone="faint")


def _contact_table(
    rows: Sequence[tuple[str, frozenset[int]]], axes: Sequence[float], top: float, left: float, right: float
) -> Iterable[Shape]:
    """Which contact is closed in which position: a row a position, a cross beside each contact that is closed."""
    for index, (title, closed) in enumerate(rows):
        y = top + ROW * (index + 0.5)
        yield Text(title, (left, y + PIN_SIZE * 0.33), PIN_SIZE)
        edge = left + lettering.width(title, PIN_SIZE) + 2
        yield polyline((edge, y), (right, y), weight=0.5, dash="dotted")
        for column in sorted(closed):
            x = axes[column]
            yield polyline((x - 3, y - 3), (x + 3, y + 3), weight=1.5)
            yield polyline((x - 3, y + 3), (x + 3, y - 3), weight=1.5)
