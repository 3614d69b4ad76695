"""What a stator lead carries for each ampere of rectified current, rms. Figures are read from ``stators.toml``."""

from __future__ import annotations

from .sourced import Figure, figure

THREE = 3
"""Leads from which a stator counts as three-phase."""


def stator_factor(leads: int) -> Figure:
    """A rms in each lead for each A of direct current, at least, by the number of leads of the rectifier."""
    return figure("stators", "three_phase" if leads >= THREE else "single_phase")
