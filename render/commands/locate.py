"""``loomwright locate``: where a part could be, and what each place comes to."""

from __future__ import annotations

import click

from . import options
from .exits import CannotError, no_such
from .inputs import sound
from .progress import progress


@click.command()
@options.file
@click.argument("part")
@click.argument("places", metavar="[PLACE...]", nargs=-1)
@click.option("--with", "others", metavar="PART", multiple=True, help="Move this part, too; may be given again.")
def locate(file: str, part: str, places: tuple[str, ...], others: tuple[str, ...]) -> None:
    """Try a part at other places.

    PART of FILE is put at each PLACE in turn, at every place of the harness where none is named, and everything is
    worked out again: metres and grams of copper of the new wires, the longest piece, how many cross the steering, the
    worst voltage drop, and errors and warnings that come or go. Wires of the part are measured along the routes,
    whatever length is written for them. The file stays as it is.

    \b
    Examples:
      loomwright locate bike.loom CTRL
      loomwright locate bike.loom F-KEY tray headstock
      loomwright locate bike.loom F-KEY --with F-CTRL

    Several parts are tried in all combinations up to 10,000, beyond that one at a time. Exits 0, 1 when the text has
    errors, 2 when a file cannot be read.
    """
    from ...checks.bench.locate import locate as tried
    from ...checks.runner.run import RuleStudy
    from ...lang.model.parts import Ground
    from ..bench.places import places_text

    harness = sound(file)
    for name in (part, *others):
        if name not in harness.parts:
            raise no_such("part", name, harness.parts)
        if isinstance(harness.parts[name], Ground):
            raise click.UsageError(f"{name} is a ground with a stud at each of its places: name a part that can move")
    for place in places:
        if place not in harness.places:
            raise no_such("place", place, harness.places)
    joined = {end for route in harness.routes for end in (route.a, route.b)}
    choices = places or tuple(place for place in harness.places if place in joined)
    if not choices:
        raise CannotError(
            f"{file} has no routes, so no place can be compared: write them, such as: route tray bars 0.8 m"
        )
    names = dict.fromkeys((part, *others))
    with progress("trying places"):
        found = tried(harness, dict.fromkeys(names, choices), lambda each: RuleStudy(each, today=options.day_of(None)))
    click.echo(places_text(found), nl=False)
