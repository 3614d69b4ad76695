"""``loomwright mutate``: which single faults nothing would notice."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from ...lang.quantities.quantity import Quantity, shown
from . import options
from .exits import FOUND, say
from .inputs import sound_reading
from .judging import folder_settings, limits_named, terms_of
from .progress import progress

if TYPE_CHECKING:
    from datetime import datetime


@click.command()
@options.file
@click.option("--sample", type=click.IntRange(min=1), metavar="N", help="Put in only N faults, drawn by --seed.")
@click.option("--seed", type=int, default=0, show_default=True, help="Which sample; the same for the same number.")
@click.option("--jobs", type=click.IntRange(1, 64), default=1, show_default=True, help="Processes that share the work.")
@click.option(
    "--least", type=click.FloatRange(0, 100), metavar="PERCENT", help="Exit with 1 where fewer faults are noticed."
)
@click.option("--all", "every", is_flag=True, help="List the faults that no line could notice, too.")
@options.text_or_json
@options.profile
@options.own_rules
@options.today
@options.stdin_filename
def mutate(
    file: str,
    sample: int | None,
    seed: int,
    jobs: int,
    least: float | None,
    every: bool,
    format_: str,
    profile: str | None,
    own_rules: bool,
    today: datetime | None,
    stdin_filename: str | None,
) -> None:
    """Put every single fault in and see whether the check notices it.

    Bridges and upsizes each fuse, thins, loses and moves each wire, loses each ground, exchanges the wires at terminals
    beside each other, turns parts round, bridges contacts and joins terminals, one at a time and never in your file,
    and runs the rules and your expectations. Lists the faults that nothing notices, the worst first, each with the
    `expect` line that would notice it: it holds on your harness and fails with the fault. A file that passes its
    check says little about what it would catch; this says how much.

    \b
    Examples:
      loomwright mutate bike.loom
      loomwright mutate bike.loom --sample 100 --seed 7 --jobs 2
      loomwright mutate bike.loom --least 95

    Exits 0, 1 when the file has errors or less than --least is noticed, 2 when a file cannot be read.
    """
    from ...checks.proof.mutation import Mutation, chosen, judged_all, score
    from ..report.mutation import mutation_json, mutation_text, share_words

    reading = sound_reading(file, stdin_filename)
    terms = terms_of(folder_settings(reading.harness.file), limits_named(profile), own_rules=own_rules)
    mutation = Mutation(reading, today=options.day_of(today), **terms)
    if mutation.before:
        count = len(mutation.before)
        found = "something" if count == 1 else f"{count} things"
        say(f"the check finds {found} without any fault: settle that first, since it can hide a fault")
    with progress("mutating") as steps:
        found_all = judged_all(mutation, chosen(mutation.harness, sample, seed), jobs, steps)
    found_score = score(found_all)
    name = reading.harness.file
    if format_ == "json":
        click.echo(mutation_json(found_score, name, None if sample is None else seed), nl=False)
    else:
        click.echo(mutation_text(found_score, name, every=every), nl=False)
    if least is not None and found_score.share * 100 < least:
        say(f"{share_words(found_score)} is less than --least, {shown(Quantity(least, '%'))}")
        raise click.exceptions.Exit(FOUND)
