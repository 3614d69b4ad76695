"""A drawing written as SVG: plain shapes and text, no style sheet, nothing fetched from elsewhere.

Every text that a user wrote is escaped. The picture says what it is to a reader who does not see it: ``role``,
``title`` and ``desc`` for the whole, a ``title`` on each symbol and wire.

Whatever stands for something in the harness is a group that can be found by ``data-`` attributes, whose values are the
names that circuit, findings and reports use (branches as :class:`~loomwright.lang.circuit.ids.BranchId` is spelled,
nodes as :class:`~loomwright.lang.circuit.ids.End` is):

=========================  =====================================================================================
``g.part``                 a symbol: ``data-part`` ``KEY``, ``data-symbol`` what is drawn; a part may have several.
                           Splices, ways of plugs and grounds have the part's name, too; flags have none
``g.element``              in a part: ``data-branch`` ``HEAD.dip``, ``K1 coil``, ``MAIN``, ``CTRL.horn``
``g.contact``              in a part: ``data-branch`` ``KEY 30-15``; where rows of a table name the pair both ways
                           round or twice, each branch, with ``|`` between
``g.blade``                in a contact, for each position of its switch (a relay has ``released`` and ``pulled``):
                           ``data-position``, ``data-closed`` ``yes`` or ``no``; all but the one at rest have
                           ``display="none"``
``circle.terminal``        where wires meet a symbol, unseen: ``data-node`` ``KEY.30``, ``C1.3s``, ``SP1``, ``FRAME``
``g.wire``                 a stretch of wire: ``data-wire`` ``7``, ``data-branch`` ``wire 7.2``, ``data-from`` and
                           ``data-to`` its nodes
``g.joint``                what is metal and no wire: ``data-node``
``.mark``                  lies under a wire or round a symbol that differs from another harness
=========================  =====================================================================================

Ids begin with the ``prefix`` that is asked for, so that two drawings can be in one file.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from html import escape

from . import colours, lettering
from .primitives import Arc, Circle, Drawing, Element, Joint, Keyed, Keys, Point, Run, Shape, Stroke, Text

INK = "#111111"
FAINT = "#4d4d4d"
PAPER = "#ffffff"
_WIDTHS = ((3.2, 1.8, 0.9), (4.0, 2.5, 1.2), (4.8, 3.3, 1.5))
"""Of wires in three steps of size: the dark edge, the wire's own colour, its stripe."""
_HALO = 2.0
"""How much wider than a wire the gap is that it leaves where it passes over another one."""
_UNSEEN = 'fill="none" stroke="none" pointer-events="all"'
_BAR = 2.8
"""How thick the bar is on which several wires end."""
_BROKEN, _PALE = "5 4", "0.4"
"""How a wire is drawn that is dead."""
MARKS = {"added": ("#2a8f3c", ""), "removed": ("#c8102e", "9 5"), "changed": ("#d98200", "2 3")}
"""Colour and dashes of what is added, removed and changed (ours): the dashes tell them apart in grey, too."""
_MARGIN = 5.0
"""How much wider than a wire its mark is."""
_DASHES = {"dashed": "4 2.5", "dash-dot": "8 2.5 1.5 2.5", "dotted": "1.2 2.4"}


def widths(step: int) -> tuple[float, float, float]:
    """Of a wire that is drawn so thick: its dark edge, its own colour, its stripe."""
    return _WIDTHS[step]


def figure(value: float) -> str:
    """A coordinate: two decimals at most, the same on every machine."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("", "-0") else text


def clean(text: str) -> str:
    """Text as XML may hold it: escaped, and without the control characters that XML 1.0 has no way to write."""
    kept = "".join(
        c for c in text if c in "\t\n\r" or "\x20" <= c <= "\ud7ff" or "\ue000" <= c <= "\ufffd" or c > "\uffff"
    )
    return escape(kept, quote=True)


def _path(points: Iterable[Point], closed: bool = False) -> str:
    steps = [f"{figure(x)} {figure(y)}" for x, y in points]
    return "M" + "L".join(steps) + ("Z" if closed else "")


def shape_svg(shape: Shape, pixel: float = 1.0) -> str:
    """One shape as an element of SVG. ``pixel`` is how long one is in the drawing's unit: dashes keep their length."""
    match shape:
        case Stroke():
            fill = INK if shape.filled else shape.fill or "none"
            colour = f' stroke="{shape.colour}"' if shape.colour else ""
            dashes = " ".join(figure(float(each) * pixel) for each in _DASHES.get(shape.dash, "").split())
            dash = f' stroke-dasharray="{dashes}"' if dashes else ""
            weight = figure(shape.weight)
            return (
                f'<path d="{_path(shape.points, shape.closed)}" fill="{fill}" stroke-width="{weight}"{colour}{dash}/>'
            )
        case Circle():
            (x, y), fill = shape.centre, INK if shape.filled else "none"
            colour = f' stroke="{shape.colour}"' if shape.colour else ""
            return (
                f'<circle cx="{figure(x)}" cy="{figure(y)}" r="{figure(shape.radius)}" fill="{fill}" '
                f'stroke-width="{figure(shape.weight)}"{colour}/>'
            )
        case Arc():
            (x1, y1), (x2, y2) = shape.start, shape.end
            radius = figure(((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5 / 2)
            sweep = 1 if shape.bulge == "left" else 0
            return (
                f'<path d="M{figure(x1)} {figure(y1)}A{radius} {radius} 0 0 {sweep} {figure(x2)} {figure(y2)}" '
                f'fill="none" stroke-width="{figure(shape.weight)}"/>'
            )
        case Text():
            return _text(shape)
        case Keyed():
            unseen = ' display="none"' if shape.hidden else ""
            inside = "".join(shape_svg(each, pixel) for each in shape.shapes)
            return f'<g class="{shape.what}"{_data(shape.keys)}{unseen}>{inside}</g>'


def _data(keys: Keys) -> str:
    return "".join(f' data-{name}="{clean(value)}"' for name, value in keys)


def _text(text: Text) -> str:
    """A text with its measured length, so that it fits where a reader's machine has another font."""
    x, y = text.at
    parts = [f'x="{figure(x)}" y="{figure(y)}" font-size="{figure(text.size)}"']
    if text.bold:
        parts.append('font-weight="bold"')
    if text.turn:
        parts.append(f'transform="rotate({figure(-text.turn)} {figure(x)} {figure(y)})"')
    if text.anchor != "start":
        parts.append(f'text-anchor="{text.anchor}"')
    parts.append(f'fill="{FAINT if text.tone == "faint" else INK}" stroke="none"')
    if text.words.strip():
        parts.append(f'textLength="{figure(text.width)}" lengthAdjust="spacingAndGlyphs"')
    return f"<text {' '.join(parts)}>{clean(text.words)}</text>"


def _element(element: Element) -> Iterator[str]:
    keys = (*((("part", element.part),) if element.part else ()), ("symbol", element.symbol))
    yield f'<g class="{"part" if element.part else "flag"}"{_data(keys)}><title>{clean(element.about)}</title>'
    for shape in element.shapes:
        yield shape_svg(shape)
    for node, (x, y) in element.ports:
        yield f'<circle class="terminal" data-node="{clean(node)}" cx="{figure(x)}" cy="{figure(y)}" r="3" {_UNSEEN}/>'
    yield "</g>"


def _run(run: Run) -> Iterator[str]:
    """A wire: a dark edge, so that white and yellow show on paper and in grey, its colour, and its stripe in dashes."""
    base, stripe = colours.base_and_stripe(run.colour)
    yield f'<g class="wire"{_data(run.keys)} fill="none"><title>{clean(run.about)}</title>'
    course = "".join(_path(line) for line in run.lines)
    if course:
        edge, own, inner = widths(run.step)
        connectivity = 'stroke-linejoin="round" stroke-linecap="butt"'
        if run.over:
            gaps = "".join(_path(line) for line in run.over)
            yield f'<path d="{gaps}" stroke="{PAPER}" stroke-width="{figure(edge + _HALO)}"/>'
        if run.quiet:
            connectivity += f' stroke-dasharray="{_BROKEN}" opacity="{_PALE}"'
        yield f'<path d="{course}" stroke="{INK}" stroke-width="{edge}" {connectivity}/>'
        yield f'<path d="{course}" stroke="{base}" stroke-width="{own}" {connectivity}/>'
        if stripe and not run.quiet:
            yield f'<path d="{course}" stroke="{stripe}" stroke-width="{inner}" stroke-dasharray="7 3"/>'
    for text in run.texts:
        yield _text(text)
    yield "</g>"


def _joint(joint: Joint) -> Iterator[str]:
    yield f'<g class="joint" data-node="{clean(joint.node)}">'
    pale = f' opacity="{_PALE}"' if joint.quiet else ""
    broken = f' stroke-dasharray="{_BROKEN}"' if joint.quiet else ""
    if joint.lines:
        course = "".join(_path(line) for line in joint.lines)
        yield f'<path d="{course}" fill="none" stroke-width="1.4"{broken}{pale}/>'
    if joint.bar:
        yield f'<path d="{_path(joint.bar)}" fill="none" stroke-width="{_BAR}"{pale}/>'
    yield "</g>"


def _marks(drawing: Drawing) -> Iterator[str]:
    """What lies under wires and round symbols that differ from another harness, by line and colour."""
    for run in drawing.runs:
        if run.mark:
            colour, dashes = MARKS[run.mark]
            course = "".join(_path(line) for line in run.lines)
            dash = f' stroke-dasharray="{dashes}"' if dashes else ""
            wide = figure(widths(run.step)[0] + _MARGIN)
            yield f'<path class="mark" d="{course}" stroke="{colour}" stroke-width="{wide}" opacity="0.6"{dash}/>'
    for element in drawing.elements:
        if element.mark:
            colour, dashes = MARKS[element.mark]
            box = element.box
            dash = f' stroke-dasharray="{dashes}"' if dashes else ""
            yield (
                f'<rect class="mark" x="{figure(box.left - 1)}" y="{figure(box.top - 1)}" '
                f'width="{figure(box.width + 2)}" height="{figure(box.height + 2)}" '
                f'stroke="{colour}" stroke-width="2"{dash}/>'
            )


def content_svg(drawing: Drawing) -> Iterator[str]:
    """All that is drawn, wires first, for a group whose lines are ink."""
    yield from _marks(drawing)
    for run in drawing.runs:
        yield from _run(run)
    for joint in drawing.joints:
        yield from _joint(joint)
    for element in drawing.elements:
        yield from _element(element)
    yield from map(shape_svg, drawing.frame)


def svg_text(drawing: Drawing, prefix: str = "") -> str:
    """The drawing as an SVG document in pixels of 1/96 inch; the same bytes for the same drawing.

    ``prefix`` is what its ids begin with.
    """
    title = f"{drawing.title}: {drawing.sheet}"
    head = head_svg((drawing.width, drawing.height), f"{clean(prefix)}sheet", title, drawing.about)
    return "\n".join((*head, *content_svg(drawing), "</g>", "</svg>", ""))


def head_svg(size: tuple[float, float], name: str, title: str, about: str, unit: str = "") -> tuple[str, ...]:
    """How a document of some width and height begins: its title, what it is about, its paper, and the group in which
    lines are ink. ``name`` is what the ids of its title and of what it is about begin with.
    """
    width, height = figure(size[0]), figure(size[1])
    return (
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}{unit}" height="{height}{unit}" '
            f'viewBox="0 0 {width} {height}" role="img" aria-labelledby="{name}-title {name}-about">'
        ),
        f'<title id="{name}-title">{clean(title)}</title>',
        f'<desc id="{name}-about">{clean(about)}</desc>',
        f'<rect width="{width}" height="{height}" fill="{PAPER}"/>',
        (
            f'<g font-family="{lettering.FAMILY}" font-stretch="condensed" stroke="{INK}" fill="none" '
            'stroke-linejoin="round">'
        ),
    )
