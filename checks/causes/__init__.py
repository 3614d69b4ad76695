"""The search for one likely cause: the one small change to a harness that settles everything which was found.

It is above the runner: a report comes in, a report with what the search found goes out. Nothing is imported here
before there are two findings to explain.
"""

from __future__ import annotations

from ..findings.offers import Causes, Offer
from .report import with_likely_cause

__all__ = ["Causes", "Offer", "with_likely_cause"]
