"""The conformance folder: what a checker of the language must answer about small harnesses, in a plain form.

``python tests/conformance.py`` writes the expected answers again: read the diff before you commit it.
"""

from __future__ import annotations

import itertools
import json
from datetime import date
from pathlib import Path
from typing import Any, Final

from loomwright.checks.findings.finding import Level
from loomwright.checks.runner.run import RuleStudy, check
from loomwright.lang.files.reading import read_file

FOLDER: Final = Path(__file__).resolve().parents[1] / "specs" / "conformance"
TODAY: Final = date(2026, 1, 1)


def names() -> list[str]:
    return sorted(path.stem for path in FOLDER.glob("*.loom"))


def answers(name: str) -> dict[str, Any]:
    """What must be answered about a harness; ``specs/conformance/README.md`` says what each field means."""
    reading = read_file(FOLDER / f"{name}.loom")
    assert not reading.mistakes
    report = check(reading, today=TODAY)
    study = RuleStudy(reading.harness, today=TODAY)
    behaviour, operation = study.behaviour, study.operation
    elements = {f"{branch.part}.{branch.key.detail}": branch.key for branch in behaviour.consumers if branch.key.detail}
    return {
        "version": 1,
        "harness": f"{name}.loom",
        "findings": [
            {"rule": finding.rule, "level": finding.level.name.lower(), "about": sorted(finding.about)}
            for finding in report.findings
            if finding.level > Level.NOTE
        ],
        "live": {element: table(study, key) for element, key in elements.items()},
        "volts": {
            state: {e: round(abs(operation.state(state).across(key)), 2) for e, key in elements.items()}
            for state in reading.harness.states
        },
    }


def table(study: RuleStudy, key: str) -> list[dict[str, Any]]:
    """A row for every combination of the controls that an element depends on."""
    question = study.behaviour.live(key)
    space = study.behaviour.space(question)
    names = [name for name in space.controls if name not in space.unset]
    choices = [space.scope.by_name[name].positions for name in names]
    rows = []
    for positions in itertools.product(*choices):
        here = space.possible
        for name, position in zip(names, positions, strict=True):
            here &= space.at(name, position)
        holds = here & space.where(question)
        live = "impossible" if not here else "no" if not holds else "sometimes" if here - holds else "yes"
        rows.append({"when": dict(zip(names, positions, strict=True)), "live": live})
    return rows


def written(name: str) -> str:
    return json.dumps(answers(name), indent=1, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    for each in names():
        (FOLDER / f"{each}.json").write_text(written(each), "utf-8")
