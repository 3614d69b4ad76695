"""A main fuse that may blow together with, or before, the one behind it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from ....lang.circuit.branch_types import BranchType
from ....lang.editing.proposals import Proposal, Resize
from ....lang.model.parts import Fuse
from ....lang.quantities.quantity import Quantity, shown
from ...findings.finding import Figure, Finding, Level
from ...fixes.thicker import carries_its_loads
from ...rule import Rule
from ...study import Study
from ...tables.fuses import continuous_amps, ratings, short_i2t

SPARES: Final = "find out what {branch} and {main} feed, and carry a spare of each; do not fit a smaller fuse at {main}"


def find(study: Study) -> Iterator[Finding]:
    fuses = {part.name: part for part in study.harness.parts.values() if isinstance(part, Fuse)}
    for branch_name, main_name in study.protection.in_series:
        branch, main = fuses[branch_name], fuses[main_name]
        rated = continuous_amps(branch.amps, branch.blows), continuous_amps(main.amps, main.blows)
        if not rated[0] or not rated[1]:
            continue
        passed, kept = short_i2t(branch.form, rated[0]), short_i2t(main.form, rated[1])
        # Where no least melting time is published, as for glass, nothing can be said either way.
        if passed is None or kept is None or not kept.least or passed.most <= kept.least:
            continue
        smaller = tuple(_smaller(study, branch, rated[0], kept.least))
        yield RULE.found(
            "both",
            branch.span,
            facts={
                "branch": branch_name,
                "branch_rating": Quantity(rated[0], "A"),
                "main": main_name,
                "main_rating": Quantity(rated[1], "A"),
            },
            about=(branch_name, main_name),
            figures=(
                Figure(f"total I2t of {branch_name}, at most", passed.most, "A2s"),
                Figure(f"melting I2t of {main_name}, at least", kept.least, "A2s"),
            ),
            source="; ".join(sorted({str(passed.cited), str(kept.cited)})),
            fix="or-spares" if smaller else "spares",
            proposals=smaller,
        )


def _smaller(study: Study, branch: Fuse, rating: float, least: float) -> Iterator[Proposal]:
    """The largest smaller rating of its form at a branch fuse that leaves the main one whole, if its known loads allow
    it.
    """
    if branch.form is None or branch.amps is None:
        return
    key = next((b.key for b in study.circuit.of_part.get(branch.name, ()) if b.branch_type is BranchType.FUSE), "")
    if study.operation.loading(key).held.amps == 0.0:
        return  # nothing is known of its loads
    for amps in sorted((each for each in ratings(branch.form) if each < rating), reverse=True):
        passed = short_i2t(branch.form, amps)
        if passed is not None and passed.most <= least and carries_its_loads(study, key, amps):
            says = f"fit a fuse of {shown(amps)} A at {branch.name}"
            yield Proposal(says, (Resize(ratings=((branch.name, amps),)),))
            return


RULE = Rule(
    name="fuse-not-selective",
    level=Level.NOTE,
    family="fire",
    catches="a branch fuse whose total I2t may exceed the melting I2t of the fuse before it, so that both blow",
    why="""Of two fuses in series only the one nearer to the fault should blow. Where both may blow, a chafed tail lamp
    wire also cuts the ignition, at night.""",
    source="the shortest published opening times of each form: ISO 8820-3 and ISO 8820-5; forms whose least "
    "melting time is not published are not judged",
    formula="found where the greatest I2t of the branch fuse in a dead short > the least I2t that melts the one "
    "before it",
    cautions="Find out what blew a fuse before you fit another one, the main fuse above all.",
    says={
        "both": "{main} ({main_rating}) may blow together with {branch} ({branch_rating}) on a short behind {branch}"
    },
    fixes={"spares": SPARES, "or-spares": f"or {SPARES}"},
    find=find,
)
