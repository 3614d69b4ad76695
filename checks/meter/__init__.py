"""What a meter would show of a motorcycle at rest: for surveys of an unknown harness and for proving a new one."""

from __future__ import annotations

from .meter import Meter
from .setup import Kind, MeterEdge, Prediction, Setup

__all__ = ["Kind", "Meter", "MeterEdge", "Prediction", "Setup"]
