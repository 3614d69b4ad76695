"""Draws the pictures of the demonstration's build log: ``python tests/log_pictures.py``.

The motorcycle is invented, so there is nothing to photograph: plain drawings stand in for the photographs.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path

import resvg_py

from loomwright.render.drawing import lettering

FOLDER = Path(__file__).parents[1] / "specs" / "rebuild-log"
WIDTH, HEIGHT = 960, 600


def fuse_box() -> Iterator[str]:
    """An open box with six glass fuses, the second one overheated at its ends."""
    yield '<rect width="960" height="600" fill="#6d6a64"/>'
    yield '<rect x="110" y="60" width="740" height="480" rx="26" fill="#22211f" stroke="#111" stroke-width="6"/>'
    yield '<rect x="140" y="90" width="680" height="420" rx="14" fill="#3a3835"/>'
    for number, name in enumerate(("IGN", "HEAD", "TURN", "STOP", "TAIL", "spare")):
        y = 132 + 64 * number
        hot = name == "HEAD"
        clip = "#7d5a2b" if hot else "#c9c4b4"
        yield f'<rect x="250" y="{y - 18}" width="70" height="36" rx="4" fill="{clip}"/>'
        yield f'<rect x="560" y="{y - 18}" width="70" height="36" rx="4" fill="{clip}"/>'
        yield f'<rect x="300" y="{y - 12}" width="280" height="24" rx="10" fill="#dfe8ea" fill-opacity="0.85"/>'
        yield f'<path d="M310 {y}H570" stroke="#8d8d8d" stroke-width="2.5"/>'
        for x in (286, 544):
            yield f'<rect x="{x}" y="{y - 14}" width="50" height="28" rx="3" fill="{"#6b4118" if hot else "#b9b39c"}"/>'
        if hot:
            for x in (275, 605):
                yield f'<circle cx="{x}" cy="{y}" r="34" fill="#5a2f0c" fill-opacity="0.45"/>'
        yield _words(name, 672, y + 9, 26, "#e9e5da")


def headstock() -> Iterator[str]:
    """A bundle that is bent round the headstock; one wire is worn down to its copper at the steering stop."""
    yield '<rect width="960" height="600" fill="#8b8f92"/>'
    yield '<rect x="560" y="-20" width="210" height="640" rx="40" fill="#2a2d30"/>'
    yield '<rect x="530" y="352" width="80" height="70" rx="8" fill="#1b1d1f"/>'
    colours = ("#111111", "#e07b1f", "#f2d21b", "#2f5fb0", "#ffffff", "#7a4a21")
    for number, colour in enumerate(colours):
        shift = 26 * number
        ys = [y - shift for y in (430, 430, 470, 390, 160, 190)]
        path = "M-20 {}C200 {} 330 {} 470 {}S700 {} 990 {}".format(*ys)
        yield f'<path d="{path}" fill="none" stroke="#222" stroke-width="24"/>'
        yield f'<path d="{path}" fill="none" stroke="{colour}" stroke-width="19"/>'
    yield '<path d="M511 339L548 315" stroke="#c46a34" stroke-width="15" stroke-linecap="round"/>'
    strands = random.Random(3)
    for _ in range(9):
        along = strands.random()
        x, y = 508 + along * 30, 342 - along * 20 - strands.random() * 6
        yield f'<path d="M{x:.1f} {y:.1f}l15 -10" stroke="#e8a06c" stroke-width="2"/>'
    yield '<circle cx="530" cy="327" r="62" fill="none" stroke="#ffffff" stroke-width="5" stroke-dasharray="14 9"/>'
    yield _words("steering stop", 590, 452, 26, "#f4f2ec")


def board() -> Iterator[str]:
    """A board of plywood with pegs, and a trunk with branches to both sides laid round them."""
    yield '<rect width="960" height="600" fill="#d9b987"/>'
    grain = random.Random(7)
    for _ in range(40):
        y = grain.random() * 600
        course = f"M0 {y:.0f}C300 {y - 9:.0f} 650 {y + 9:.0f} 960 {y:.0f}"
        yield f'<path d="{course}" stroke="#c9a671" stroke-width="2" fill="none"/>'
    branches = (
        "M90 320H870", "M230 320V150H120", "M230 320V500H130", "M470 320V130", "M470 150L560 110", "M620 320V500",
        "M620 470L720 530", "M780 320V180H860", "M330 320V450",
    )  # fmt: skip
    for width, colour in ((26, "#1d1c1b"), (18, "#383634")):
        for path in branches:
            broad = width if path == branches[0] else width * 0.55
            yield f'<path d="{path}" stroke="{colour}" stroke-width="{broad}" fill="none" stroke-linejoin="round"/>'
    for x, y in (
        (230, 300),
        (230, 340),
        (470, 300),
        (620, 340),
        (780, 300),
        (120, 132),
        (130, 518),
        (545, 92),
        (860, 162),
    ):
        yield f'<circle cx="{x}" cy="{y}" r="9" fill="#b8bcc0" stroke="#55585b" stroke-width="3"/>'
    for x, y, name in (
        (60, 120, "bars"),
        (60, 545, "panel"),
        (566, 92, "headlamp"),
        (730, 556, "engine"),
        (840, 136, "tail"),
    ):
        yield _words(name, x, y, 26, "#2b2117")


def _words(words: str, x: float, y: float, size: float, colour: str) -> str:
    return (
        f'<text x="{x}" y="{y}" font-family="{lettering.FAMILY}" font-stretch="condensed" font-size="{size}" '
        f'fill="{colour}">{words}</text>'
    )


def pictures() -> dict[str, bytes]:
    """Each picture as PNG by the name of its file."""
    made = {"fuse-box": fuse_box(), "headstock": headstock(), "board": board()}
    return {f"{name}.png": _png("".join(shapes)) for name, shapes in made.items()}


def _png(shapes: str) -> bytes:
    size = f'viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" height="{HEIGHT}"'
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{shapes}</svg>'
    return bytes(
        resvg_py.svg_to_bytes(svg_string=svg, dpi=96, skip_system_fonts=True, font_files=[str(lettering.REGULAR)])
    )


if __name__ == "__main__":
    for file, data in pictures().items():
        (FOLDER / file).write_bytes(data)
        print(FOLDER / file)
