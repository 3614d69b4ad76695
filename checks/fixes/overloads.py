"""A wire that carries more than its rating, on either side: what is found, and a thicker wire as its fix."""

from __future__ import annotations

from typing import TYPE_CHECKING

from ...lang.quantities.quantity import Quantity
from ..findings.finding import Level
from .thicker import chattering, no_size, thick_enough

if TYPE_CHECKING:
    from ..conductors.loading import Overload
    from ..findings.finding import Finding
    from ..rule import Rule
    from ..study import Study


def overloaded(rule: Rule, study: Study, overload: Overload, other_fix: str) -> Finding:
    """The finding of an overload by a rule. ``other_fix``: its case of what else to do beside a thicker wire."""
    segment, peak = overload.segment, overload.peak
    proposals = thick_enough(study, overload)
    return rule.found(
        "short-time" if overload.held else "continuous",
        segment.span,
        facts={
            "wire": segment.wire,
            "size": segment.size.text if segment.size else "",
            "current": Quantity(peak.amps, "A"),
            "limit": Quantity(overload.limit, "A"),
            "chattering": chattering(study),
        },
        level=Level.ERROR if overload.certain else Level.WARNING,
        fix=other_fix if proposals else no_size(study),
        about=(segment.wire,),
        state=peak.state,
        combination=peak.combination,
        figures=overload.figures(study.profile.cranking_seconds),
        source=overload.source(study.profile),
        proposals=proposals,
    )
