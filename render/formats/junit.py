"""JUnit XML, as the Jenkins xUnit schema (junit-10.xsd) has it: what continuous integration shows as tests.

A test case a finding, named so that no two are alike (hosts merge equal names) and without a line, so that a host sees
the same case where lines have moved; and one that passes for every file that
is clean, so that a report is never empty. Notes never fail: they are in ``system-out``.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from xml.etree import ElementTree

from ...checks.findings.finding import Level
from ...checks.runner.run import Report
from .entries import Entry, entries

_FORBIDDEN = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def write(reports: Sequence[Report], *, waived: bool = False) -> str:
    """One test suite a file."""
    root = ElementTree.Element("testsuites")
    for report in reports:
        rows = entries([report], waived=waived)
        failing = [row for row in rows if _fails(row)]
        suite = ElementTree.SubElement(
            root,
            "testsuite",
            name=_clean(report.harness.file),
            tests=str(len(failing) or 1),
            failures=str(len(failing)),
            errors="0",
        )
        for row in failing:
            case = _case(suite, f"{row.rule} in {row.span.file} ({row.fingerprint[:8]})", row.rule)
            failure = ElementTree.SubElement(case, "failure", message=_clean(row.message), type=row.level.word)
            failure.text = _clean("\n".join((f"{row.span}: {row.level.word}: {row.message}", *row.evidence)))
        if not failing:
            _case(suite, f"nothing at error or warning level in {report.harness.file}", "check")
        quiet = [row for row in rows if not _fails(row)]
        if quiet:
            ElementTree.SubElement(suite, "system-out").text = _clean(
                "\n".join(f"{row.span}: {_word(row)}: {row.message} [{row.rule}]" for row in quiet)
            )
    ElementTree.indent(root)
    return '<?xml version="1.0" encoding="UTF-8"?>\n' + ElementTree.tostring(root, encoding="unicode") + "\n"


def _fails(row: Entry) -> bool:
    return row.level > Level.NOTE and row.counts


def _word(row: Entry) -> str:
    return row.level.word if row.counts else f"{row.standing} {row.level.word}"


def _case(suite: ElementTree.Element, name: str, classname: str) -> ElementTree.Element:
    return ElementTree.SubElement(suite, "testcase", name=_clean(name), classname=_clean(classname))


def _clean(text: str) -> str:
    """Without the characters that XML 1.0 forbids."""
    return _FORBIDDEN.sub("\ufffd", text)
