"""How harnesses are judged: whose limits, which settings, which rules of the user's own, and which baseline."""

from __future__ import annotations

import os
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

import click

from .cores import in_turn
from .exits import FOUND, CannotError, no_such, reason, say
from .inputs import read_all, show_mistakes
from .progress import progress

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from datetime import date

    from ...checks.rule import Rule
    from ...checks.runner.baseline import Baseline
    from ...checks.runner.run import Report
    from ...checks.runner.settings import Settings
    from ...checks.tables.profiles import Profile
    from ...lang.model.harness import Harness, Reading
    from ..page.log import Log


MOST_ALONE: Final = 150
"""Wires of all files together up to which they are checked one after the other (ours): processes cost more then."""


def check_files(
    files: Sequence[str],
    stdin_filename: str | None,
    profile: str | None,
    day: date,
    *,
    own_rules: bool,
    jobs: int = 1,
    then: Callable[[Report, Settings, dict[str, Any]], Report] = lambda report, _settings, _terms: report,
) -> tuple[list[tuple[Report, Settings]], bool]:
    """What a check of the files of the command line gives, each with its settings, and whether one of them cannot be
    read. As many as ``jobs`` are checked at once; ``then`` goes on with each report, by its settings and terms.
    """
    from ...checks.runner.run import catalogue
    from ...checks.runner.run import check as check_harness

    limits = limits_named(profile)
    readings, unreadable = read_all(files, stdin_filename)
    settings = [folder_settings(reading.harness.file) for reading in readings]
    terms = [terms_of(each, limits, own_rules=own_rules) for each in settings]

    def checked(number: int) -> Report:
        report = check_harness(readings[number], today=day, **terms[number])
        # A rule of the user's own comes of a file that was run, and cannot go from one process to another.
        return replace(then(report, settings[number], terms[number]), own_rules=())

    if sum(len(reading.harness.wires) for reading in readings) <= MOST_ALONE:
        jobs = 1
    elif jobs > 1:
        catalogue()  # once, for all processes
    reports = in_turn(checked, len(readings), jobs, "checking")
    own = [() if report.mistakes else each.get("own_rules", ()) for report, each in zip(reports, terms, strict=True)]
    whole = [replace(report, own_rules=rules) for report, rules in zip(reports, own, strict=True)]
    return list(zip(whole, settings, strict=True)), unreadable


def terms_of(settings: Settings, limits: Profile | None, *, own_rules: bool) -> dict[str, Any]:
    """How to check a harness with these settings: whose limits, and which rules besides those that come along."""
    from ...checks.tables.profiles import DEFAULT

    terms: dict[str, Any] = {"profile": limits, "otherwise": settings.profile or DEFAULT}
    if own_rules:
        terms["own_rules"] = _rules_of_ones_own(settings)
    elif settings.rules_span is not None and settings.own_rules:
        from ...checks.runner.own_rules import Unrun

        terms["unrun"] = Unrun(settings.own_rules, settings.rules_span)
    return terms


def rules_here(*, own_rules: bool) -> tuple[Rule, ...]:
    """The rules that come along, and those of the settings of this folder where the command line asks for them."""
    from ...checks.runner.run import catalogue

    if not own_rules:
        return catalogue()
    return (*catalogue(), *_rules_of_ones_own(folder_settings("harness.loom")))


def _rules_of_ones_own(settings: Settings) -> tuple[Rule, ...]:
    """Runs the user's own rule files, and those of packages; only ever called because the command line says so."""
    from ...checks.runner.own_rules import OwnRuleError, rules_from_files, rules_from_packages
    from ...checks.runner.run import catalogue

    try:
        offered = rules_from_packages(catalogue())
        return (*offered, *rules_from_files(settings.own_rules, (*catalogue(), *offered)))
    except OwnRuleError as error:
        raise CannotError(str(error)) from None


def folder_settings(harness_file: str) -> Settings:
    """The settings of the folder that a harness is in."""
    from ...checks.runner.settings import SettingsError, settings_of

    try:
        return settings_of(harness_file)
    except SettingsError as error:
        raise CannotError(str(error)) from None


def limits_named(profile: str | None) -> Profile | None:
    """The profile that the command line names."""
    from ...checks.tables.profiles import profile_at, profile_names

    if profile is None:
        return None
    if not profile.endswith(".toml") and profile not in profile_names():
        raise no_such("profile", profile, profile_names())
    try:
        return profile_at(profile)
    except ValueError as error:
        raise CannotError(str(error)) from None


def limits_for(harness: Harness, profile: str | None) -> Profile:
    """Whose limits count for a harness without mistakes: the command line's, its own, the settings', the default."""
    from ...checks.tables.house import profile_of
    from ...checks.tables.profiles import DEFAULT

    limits = limits_named(profile)
    try:
        return profile_of(harness, limits, folder_settings(harness.file).profile or DEFAULT)
    except ValueError as error:
        raise CannotError(f"{harness.file}: {error}") from None


def but_accepted(report: Report, accepted: str | None) -> Report:
    """A report in which what a list of accepted findings holds does not count; a list that is not there is empty."""
    if accepted is None or not os.path.lexists(accepted):
        return report
    from ...checks.runner.baseline import without_accepted

    return without_accepted(report, baseline_in(accepted), accepted)


def say_missing(accepted: str | None) -> None:
    """Say that the list which the command line names is not there, so that a slip in its name is seen."""
    if accepted is not None and not os.path.lexists(accepted):
        say(f"{accepted} does not exist yet, so nothing is accepted; `loomwright accept` writes it")


def baseline_in(file: str) -> Baseline:
    """What a list of accepted findings holds."""
    from ...checks.runner.baseline import NoBaselineError, read_baseline

    try:
        return read_baseline(file)
    except NoBaselineError as error:
        raise CannotError(str(error)) from None
    except OSError as error:
        raise CannotError(f"cannot read {file}: {reason(error)}") from None


def sound_log(file: str, reading: Reading, *, top: int = 2) -> Log:
    """A log without mistakes, its first heading of the level ``top``; where it has some they are reported, and the
    command ends with 1.
    """
    from ...lang.files.reading import UnreadableError
    from ...lang.model.harness import Harness
    from ..page.log import read_log

    try:
        with progress("making the log"):
            found = read_log(file, reading, lambda harness: limits_for(harness, None), top=top)
    except UnreadableError as error:
        raise CannotError(f"cannot read {error}") from None
    if found.mistakes:
        show_mistakes(
            Harness(file=found.file), found.mistakes, {found.file: found.text}, "fix the errors in the log first"
        )
        raise click.exceptions.Exit(FOUND)
    return found
