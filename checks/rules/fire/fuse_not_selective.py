"""A main fuse that may blow together with, or before, the one behind it."""

from __future__ import annotations

from collections.abc import Iterator

from ....lang.model.parts import Fuse
from ....lang.quantities.quantity import shown
from ...findings.finding import Figure, Finding, Level
from ...rule import Rule
from ...study import Study
from ...tables.fuses import continuous_amps, short_i2t


def find(study: Study) -> Iterator[Finding]:
    fuses = {part.name: part for part in study.harness.parts.values() if isinstance(part, Fuse)}
    for branch_name, main_name in study.protection.in_series:
        branch, main = fuses[branch_name], fuses[main_name]
        ratings = continuous_amps(branch.amps, branch.blows), continuous_amps(main.amps, main.blows)
        if not ratings[0] or not ratings[1]:
            continue
        passed, kept = short_i2t(branch.form, ratings[0]), short_i2t(main.form, ratings[1])
        # Where no least melting time is published, as for glass, nothing can be said either way.
        if passed is None or kept is None or not kept.least or passed.most <= kept.least:
            continue
        yield Finding(
            rule=RULE.name,
            level=Level.NOTE,
            message=f"a short behind {branch_name} ({shown(ratings[0])} A) may blow {main_name} "
            f"({shown(ratings[1])} A) too",
            span=branch.span,
            about=(branch_name, main_name),
            figures=(
                Figure(f"{branch_name} lets through at most", passed.most, "A2s"),
                Figure(f"{main_name} melts from", kept.least, "A2s"),
            ),
            source="; ".join(sorted({str(passed.cited), str(kept.cited)})),
            remedy=f"fit a smaller or quicker fuse at {branch_name} if its loads allow it, or find out what both "
            "feed and "
            "carry a spare of each; leave "
            f"{main_name} as large as its wires allow",
        )


RULE = Rule(
    name="fuse-not-selective",
    level=Level.NOTE,
    family="fire",
    catches="a branch fuse that may let more I2t through than the fuse before it needs to melt",
    why="""With two fuses in a row the one nearer to the fault should open alone. Where it may not, a chafed tail lamp
    wire takes the ignition with it, at night.""",
    source="the end of the published opening times of each form: ISO 8820-3 and ISO 8820-5; nothing is said of "
    "forms whose "
    "least melting time is not published",
    formula="found where the greatest I2t of the branch fuse in a dead short > the least I2t that melts the one "
    "before it",
    cautions="Find what blew a fuse before another one is put in, the main one above all.",
    find=find,
)
