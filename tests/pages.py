"""Pages of harnesses for tests, as of one day."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from loomwright.checks.runner.run import RuleStudy, check_examined
from loomwright.lang.model.harness import Reading
from loomwright.render.page.page import page

SPECS = Path(__file__).parents[1] / "specs"
DAY = date(2026, 1, 1)


def study_of(reading: Reading) -> RuleStudy:
    assert reading.mistakes == ()
    return RuleStudy(reading.harness, today=DAY, old=reading.old)


def html_of(study: RuleStudy, reading: Reading) -> str:
    return page(check_examined(reading, study), study)
