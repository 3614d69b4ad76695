"""How hard tests try; and programs from outside that judge ours: a missing one skips the test on a desk and fails it
in CI.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Sequence
from typing import TypeVar

import pytest

T = TypeVar("T")

IN_CI = os.environ.get("LOOMWRIGHT_CI") == "1"
PROFILE = "day" if IN_CI else os.environ.get("LOOMWRIGHT_HYPOTHESIS", "day")
"""How Hypothesis tries: by ``day`` always the same, as much with ``fresh`` seeds, or by night ``thorough``."""


def some_of(cases: Sequence[T], every: int) -> Sequence[T]:
    """By day the first of each ``every`` cases, by night all."""
    return cases if PROFILE == "thorough" else cases[::every]


PACKAGES = {
    "chromium": "chromium",
    "dot": "graphviz",
    "firefox-esr": "firefox-esr",
    "ngspice": "ngspice",
    "pdftotext": "poppler-utils",
}
OTHER_NAMES = {"chromium": ("chromium-browser", "google-chrome", "google-chrome-stable")}


def require_tool(name: str) -> str:
    """The path of the program ``name``; without it the test is skipped, or fails where ``LOOMWRIGHT_CI=1``."""
    for known in (name, *OTHER_NAMES.get(name, ())):
        if path := shutil.which(known):
            return path
    reason = f"needs {name} (Debian package {PACKAGES.get(name, name)}), which is not on the PATH"
    if IN_CI:
        pytest.fail(f"{reason}; nothing is skipped in CI", pytrace=False)
    pytest.skip(reason)
