"""What ``check`` prints of each rule's harnesses, as it is beside them in ``specs/rules/<rule>/<name>.txt``.

``python tests/golden_findings.py [RULE]...`` rewrites the texts; review them as prose in the diff.
"""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path

from loomwright.checks.findings.finding import Level
from loomwright.checks.runner.run import Report, catalogue, check
from loomwright.lang.files.reading import read_text
from loomwright.render.report.findings import finding_text

TODAY = date(2026, 6, 1)
FOLDER = Path(__file__).resolve().parents[1] / "specs" / "rules"


def harnesses(rule: str = "*") -> tuple[Path, ...]:
    """Every harness of a rule, or of all; old harnesses that another one converts are read with it."""
    return tuple(sorted(path for path in FOLDER.glob(f"{rule}/*.loom") if not path.name.endswith(".old.loom")))


def reported(path: Path) -> Report:
    """The report of a harness, named as if from inside its folder."""
    reading = read_text(
        path.read_text("utf-8"), path.name, load=lambda used: (path.parent / used.name).read_text("utf-8")
    )
    assert [f"{m.span}: {m.message}" for m in reading.mistakes] == []
    found = check(reading, today=TODAY)
    assert found.unchecked == ""
    return found


def printed(path: Path) -> str:
    """What concerns the rule whose folder the harness is in: its own findings whole, as ``check`` prints them; of other
    rules the errors and warnings, by their first lines. Their notes may come and go.
    """
    rule = path.parent.name
    report = reported(path)
    mine = [text for f in (*report.findings, *report.waived) if f.rule == rule for text in (finding_text(f),)]
    others = sorted(
        {finding_text(f).split("\n")[0] for f in report.findings if f.rule != rule and f.level > Level.NOTE}
    )
    blocks = mine or [f"nothing found by {rule}\n"]
    if others:
        blocks.append("besides:\n" + "".join(f"{line}\n" for line in others))
    return "".join(blocks)


def main(names: list[str]) -> None:
    for name in names or [rule.name for rule in catalogue()]:
        for path in harnesses(name):
            path.with_suffix(".txt").write_text(printed(path), "utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
