"""SARIF 2.1.0 (OASIS, errata 01), with what code hosts ask beyond the schema.

Columns are code points and said to be. Waived findings are left out unless asked for, since a host shows a suppressed
result as an open one. Nothing of the machine or of the time is written.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import Any

from ... import __version__
from ...checks.findings.finding import Finding, Level
from ...checks.rule import Rule
from ...checks.runner.baseline import IDLE_ACCEPTANCE
from ...checks.runner.examples import example
from ...checks.runner.run import Report, catalogue
from ...lang.files.uri import uri
from .entries import JUDGED_RULE, MISTAKE_RULE, OWN_RULES_NOT_RUN, Entry, entries

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
_LEVELS = {Level.ERROR: "error", Level.WARNING: "warning", Level.NOTE: "note"}


def write(reports: Sequence[Report], *, waived: bool = False) -> str:
    """A SARIF log with one run; results in the order of the text report."""
    own = {rule.name: rule for report in reports for rule in report.own_rules}
    known = (*catalogue(), *(rule for _, rule in sorted(own.items())))
    rules = [_mistake_rule(), _idle_acceptance(), _judged_rule(), _own_rules_not_run(), *map(_rule, known)]
    index = {rule["id"]: number for number, rule in enumerate(rules)}
    log = {
        "$schema": SCHEMA,
        "version": "2.1.0",
        "runs": [
            {
                "tool": {
                    "driver": {
                        "name": "Loomwright",
                        "version": __version__,
                        "semanticVersion": __version__,
                        "rules": rules,
                    }
                },
                "columnKind": "unicodeCodePoints",
                "results": [_result(entry, index) for entry in entries(reports, waived=waived)],
            }
        ],
    }
    return json.dumps(log, indent=2, ensure_ascii=True) + "\n"


def _rule(rule: Rule) -> dict[str, Any]:
    help_text = f"{rule.why}\n\nSource: {rule.source}"
    if rule.cautions:
        help_text += f"\n\nCaution: {rule.cautions}"
    shown = {"Found": example(rule, "bad"), "Silent": example(rule, "good")}
    markdown = f"{rule.why}\n" + "".join(f"\n**{how}**\n\n```\n{text.strip()}\n```\n" for how, text in shown.items())
    markdown += f"\nSource: {rule.source}\n" + (f"\n**Caution:** {rule.cautions}\n" if rule.cautions else "")
    # A name that is the id over again says nothing (SARIF 2.1.0, 3.49.7): a rule of one word has none.
    named = {"name": "".join(word.capitalize() for word in rule.name.split("-"))} if "-" in rule.name else {}
    return {
        "id": rule.name,
        **named,
        "shortDescription": {"text": rule.catches[:1024]},
        "fullDescription": {"text": rule.why[:1024]},
        "help": {"text": help_text, "markdown": markdown},
        "defaultConfiguration": {"level": _LEVELS[rule.level]},
        "properties": {"tags": [rule.family], "precision": "very-high"},
    }


def _mistake_rule() -> dict[str, Any]:
    text = "A line of the harness does not say anything that the language knows, so the harness was not checked."
    return {
        "id": MISTAKE_RULE,
        "name": "MistakeInText",
        "shortDescription": {"text": "a line that the language does not understand"},
        "fullDescription": {"text": text},
        "help": {"text": text + " The language is described in lang/REFERENCE.md."},
        "defaultConfiguration": {"level": "error"},
        "properties": {"tags": ["language"], "precision": "very-high"},
    }


def _idle_acceptance() -> dict[str, Any]:
    text = "The list of accepted findings holds one that is not found any more: it was fixed, or it is another one now."
    return {
        "id": IDLE_ACCEPTANCE,
        "name": "IdleAcceptance",
        "shortDescription": {"text": "an accepted finding that is not found any more"},
        "fullDescription": {"text": text},
        "help": {"text": text + " Write the list again with `loomwright accept`."},
        "defaultConfiguration": {"level": "note"},
        "properties": {"tags": ["coverage"], "precision": "very-high"},
    }


def _judged_rule() -> dict[str, Any]:
    text = "The harness judges a rule otherwise than it comes, or switches it off, and gives a reason."
    return {
        "id": JUDGED_RULE,
        "name": "JudgedRule",
        "shortDescription": {"text": "a rule that this harness judges otherwise than it comes"},
        "fullDescription": {"text": text},
        "help": {"text": text + " What the rule catches is as dangerous as before."},
        "defaultConfiguration": {"level": "note"},
        "properties": {"tags": ["coverage"], "precision": "very-high"},
    }


def _own_rules_not_run() -> dict[str, Any]:
    text = "The settings name rules of the user's own. They are code, and run only where the command line asks for it."
    return {
        "id": OWN_RULES_NOT_RUN,
        "name": "OwnRulesNotRun",
        "shortDescription": {"text": "rules of the user's own that were not run"},
        "fullDescription": {"text": text},
        "help": {"text": text + " Give --own-rules to run them."},
        "defaultConfiguration": {"level": "note"},
        "properties": {"tags": ["coverage"], "precision": "very-high"},
    }


def _result(entry: Entry, index: dict[str, int]) -> dict[str, Any]:
    # Hosts show the first sentence where space is short, so the message ends one.
    text = "\n".join((entry.message.rstrip(".") + ".", *entry.evidence))
    result: dict[str, Any] = {
        "ruleId": entry.rule,
        "level": _LEVELS[entry.level],
        "message": {"text": _clean(text)},
        "locations": [_location(entry.span.file, entry.span.line, entry.span.column, entry.span.end_column)],
        "partialFingerprints": {"primaryLocationLineHash": entry.fingerprint},
    }
    if entry.rule in index:
        result["ruleIndex"] = index[entry.rule]
    if isinstance(entry.origin, Finding) and entry.origin.outcome != "found":
        result["properties"] = {"outcome": entry.origin.outcome}
    if entry.notes:
        result["relatedLocations"] = [
            {
                **_location(note.span.file, note.span.line, note.span.column, note.span.end_column),
                "id": number,
                "message": {"text": _clean(note.text)},
            }
            for number, note in enumerate(entry.notes, start=1)
        ]
    if not entry.counts:
        kind = "inSource" if entry.standing == "waived" else "external"
        result["suppressions"] = [{"kind": kind, "status": "accepted", "justification": _clean(entry.waived)}]
    return result


def _location(file: str, line: int, column: int, end_column: int) -> dict[str, Any]:
    return {
        "physicalLocation": {
            "artifactLocation": {"uri": uri(file)},
            "region": {
                "startLine": line,
                "startColumn": column,
                "endLine": line,
                "endColumn": max(end_column, column + 1),
            },
        }
    }


def _clean(text: str) -> str:
    """Without lone surrogates, which a host refuses without a word."""
    return text.encode("utf-8", "replace").decode("utf-8")
