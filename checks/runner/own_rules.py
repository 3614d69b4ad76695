"""Rules of the user's own: Python files that the settings name, and packages that offer some.

They are code, and code in a folder that somebody sent must not run by being checked: nothing here is called unless the
command line asks for it. A file defines ``RULE`` or ``RULES`` as the modules of ``checks/rules`` do; a package offers
such a module, or the rules themselves, under the entry point group ``loomwright.rules``.
"""

from __future__ import annotations

import re
import sys
import traceback
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from ...lang.diagnostics.diagnostic import Span
from ...lang.records import dataclass
from ..findings.facts import as_facts
from ..findings.finding import Finding, Level, Stage
from ..findings.wording import filled
from ..rule import FAMILIES, Rule

if TYPE_CHECKING:
    from ..study import Study

GROUP: Final = "loomwright.rules"
_NAME: Final = re.compile(r"[a-z][a-z0-9]*(-[a-z0-9]+)*")
_FAMILIES_NOW: Final = {"build": "workmanship", "honesty": "coverage"}
"""Families by names that they had in version 0.1.0."""
_TEXTS: Final = ("catches", "why", "source", "bad", "good")


class OwnRuleError(ValueError):
    """A file or a package that gives no rules; ``str()`` says which and why."""


@dataclass(frozen=True, slots=True)
class Unrun:
    """Files of own rules that the settings at ``span`` name and that were not run."""

    files: tuple[str, ...]
    span: Span

    @property
    def message(self) -> str:
        return filled("own rules were not run: {files}", as_facts({"files": self.files}))


def rules_from_files(files: Iterable[str], known: Iterable[Rule]) -> tuple[Rule, ...]:
    """The rules of some Python files, which are run for it; ``known`` are those whose names are taken.

    Raises ``OwnRuleError``.
    """
    return _without_clash(((file, rule) for file in files for rule in _rules_of_file(file)), known)


def rules_from_packages(known: Iterable[Rule]) -> tuple[Rule, ...]:
    """The rules that installed packages offer, by the names of their entry points. Raises ``OwnRuleError``."""
    from importlib.metadata import entry_points

    found = sorted(entry_points(group=GROUP), key=lambda point: (point.name, point.value))
    offers = ((f"package entry {point.name}", point.load) for point in found)
    return _without_clash(((where, rule) for where, load in offers for rule in _offered(where, load)), known)


def _without_clash(found: Iterable[tuple[str, Rule]], known: Iterable[Rule]) -> tuple[Rule, ...]:
    taken = {name: "Loomwright itself" for rule in known for name in (rule.name, *rule.aliases)}
    rules: list[Rule] = []
    for where, rule in found:
        for name in (rule.name, *rule.aliases):
            if name in taken:
                raise OwnRuleError(f"{where}: a rule named `{name}` comes from {taken[name]} already; choose another")
            taken[name] = where
        rules.append(_guarded(rule))
    return tuple(rules)


# --- getting them ----------------------------------------------------------------------------------------------------
def _rules_of_file(file: str) -> tuple[Rule, ...]:
    from importlib.util import module_from_spec, spec_from_file_location

    path = Path(file)
    if not path.is_file():
        raise OwnRuleError(f"{file}: there is no such file of own rules")
    name = f"loomwright_own_rules_{re.sub(r'[^0-9A-Za-z]', '_', path.stem)}"
    spec = spec_from_file_location(name, path)
    if spec is None or spec.loader is None:
        raise OwnRuleError(f"{file}: this is no Python file")
    module = module_from_spec(spec)
    loader = spec.loader

    def run() -> Any:
        before = sys.modules.get(name)
        sys.modules[name] = module  # as dataclasses of the module expect
        try:
            loader.exec_module(module)
        finally:
            if before is None:
                del sys.modules[name]
            else:
                sys.modules[name] = before
        return module

    return _offered(file, run)


def _offered(where: str, load: Callable[[], Any]) -> tuple[Rule, ...]:
    """What a file or an entry point gives: rules, or a module that has them."""
    try:
        found = load()
    except (Exception, SystemExit) as error:
        raise OwnRuleError(f"{where}: it cannot be imported: {_said(error, where)}") from error
    if isinstance(found, Rule):
        given: Any = (found,)
    elif isinstance(found, tuple | list):
        given = tuple(found)
    else:
        given = getattr(found, "RULES", getattr(found, "RULE", None))
        given = (given,) if isinstance(given, Rule) else given
    if not isinstance(given, tuple | list) or not given:
        raise OwnRuleError(f"{where}: it defines neither `RULE` nor `RULES`")
    for each in given:
        _check(where, each)
    return tuple(given)


def _said(error: BaseException, where: str) -> str:
    """An exception in one line, with the line of the file that it came from."""
    why = " ".join(str(error).split()) or "no message"
    if isinstance(error, SyntaxError):
        return f"line {error.lineno}: {error.msg}"
    frames = traceback.extract_tb(error.__traceback__)
    lines = [frame.lineno for frame in frames if Path(frame.filename).name == Path(where).name]
    return (f"line {lines[-1]}: " if lines else "") + f"{type(error).__name__}: {why}"


def _check(where: str, rule: Any) -> None:
    """Refuses what is no rule, and a rule that does not say all that the catalogue shows of one."""
    if not isinstance(rule, Rule):
        raise OwnRuleError(f"{where}: expected rules (loomwright.checks.rule.Rule), found {type(rule).__name__}")
    said: dict[str, Any] = {each: getattr(rule, each) for each in ("name", "level", "family", "stage", "find", *_TEXTS)}
    name = str(said["name"])
    faults = {
        "name": "words of small letters joined by hyphens" * (_NAME.fullmatch(name) is None),
        "level": "Level.ERROR, Level.WARNING or Level.NOTE" * (not isinstance(said["level"], Level)),
        "family": f"one of {', '.join(FAMILIES)}" * (said["family"] not in FAMILIES),
        "stage": f"one of {', '.join(f'Stage.{each.name}' for each in Stage)}" * (not isinstance(said["stage"], Stage)),
        "find": "a function" * (not callable(said["find"])),
        **{text: "a text" * (not isinstance(said[text], str) or not said[text].strip()) for text in _TEXTS},
    }
    for field, expected in faults.items():
        if expected:
            now = _FAMILIES_NOW.get(str(said[field])) if field == "family" else None
            hint = f": this family is named {now!r} now, write that" if now else ""
            raise OwnRuleError(f"{where}: rule {name!r}, {field}: expected {expected}, found {said[field]!r}{hint}")


# --- running them ----------------------------------------------------------------------------------------------------
def _guarded(rule: Rule) -> Rule:
    """The same rule, whose findings are looked at: what is not its own is a fault of the rule, and said as that."""

    def find(study: Study, *others: tuple[Finding, ...]) -> Iterator[Finding]:
        try:
            given: Iterable[Any] = rule.find(study, *others)
            for found in given:
                if not isinstance(found, Finding):
                    raise TypeError(f"it gave {type(found).__name__} where a Finding was expected")
                level: Any = found.level
                span: Any = found.span
                if found.rule != rule.name or not isinstance(level, Level) or not isinstance(span, Span):
                    raise TypeError(f"it gave a finding of rule {found.rule!r}, or one without level or place")
                yield found
        except SystemExit as error:
            raise RuntimeError("it tried to end the program") from error

    return replace(rule, find=find)
