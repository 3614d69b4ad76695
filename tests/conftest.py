"""What every test shares: how hard Hypothesis tries, and that nothing is skipped in CI.

A test that needs a program from outside asks ``outside.require_tool`` for it.
"""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import pytest
from hypothesis import HealthCheck, settings
from outside import IN_CI, PROFILE

if TYPE_CHECKING:
    from collections.abc import Generator

# One thread a process, before a test imports numpy: they run side by side already.
for _variable in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_variable, "1")

Report = TypeVar("Report", pytest.TestReport, pytest.CollectReport)
ROOT = Path(__file__).resolve().parent.parent

# A busy machine is no fault of the code: time decides nothing here.
_PATIENT = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("day", _PATIENT, max_examples=25, derandomize=True)
settings.register_profile("fresh", _PATIENT, max_examples=25)
settings.register_profile("thorough", _PATIENT, max_examples=2000)
settings.load_profile(PROFILE)


@pytest.fixture(scope="session")
def root() -> Path:
    """The root of the repository, which is the package."""
    return ROOT


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport() -> Generator[None, pytest.TestReport, pytest.TestReport]:
    return _no_skip_in_ci((yield))


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report() -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
    return _no_skip_in_ci((yield))


def _no_skip_in_ci(report: Report) -> Report:
    if IN_CI and report.skipped and not hasattr(report, "wasxfail"):
        report.outcome = "failed"
        report.longrepr = f"nothing is skipped in CI, and this was: {report.longrepr}"
    return report
