"""GitLab code quality: a JSON list of issues, shown beside a merge request."""

from __future__ import annotations

import json
from collections.abc import Sequence
from urllib.parse import unquote

from ...checks.findings.finding import Level
from ...checks.runner.run import Report
from ...lang.files.uri import uri
from .entries import entries

_SEVERITIES = {Level.ERROR: "critical", Level.WARNING: "major", Level.NOTE: "info"}


def write(reports: Sequence[Report], *, waived: bool = False) -> str:
    """The list, without a byte-order mark; fingerprints are unique, since equal ones are merged."""
    issues = [
        {
            "description": row.message.encode("utf-8", "replace").decode("utf-8"),
            "check_name": row.rule,
            "fingerprint": row.fingerprint,
            "severity": _SEVERITIES[row.level],
            "location": {"path": unquote(uri(row.span.file)), "lines": {"begin": row.span.line}},
        }
        for row in entries(reports, waived=waived)
    ]
    return json.dumps(issues, indent=2, ensure_ascii=True) + "\n"
