"""``loomwright identify``: which half of a plug is which, and the next reading to take."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

from . import options
from .exits import FOUND, CannotError, reason

if TYPE_CHECKING:
    from pathlib import Path

    from ...checks.survey.answers import HalfAnswer
    from ...checks.survey.identify import Identification
    from ...lang.survey.record import SurveyReading
    from ..report.survey import Identified


@click.command()
@click.argument("file", metavar="SURVEY")
@options.text_or_json
@click.option("--ask", is_flag=True, help="Ask for one reading after the other, and add each to SURVEY.")
def identify(file: str, format_: str, ask: bool) -> None:
    """Identify the plug halves of an unknown harness.

    SURVEY lists halves of plugs with the colours of their leads, and readings of a meter, of a harness whose diagram is
    known, or that of a similar motorcycle. For each half it says what that is and how surely, what supports it and what
    does not, and where each wire goes; then which two points to probe next. Colours fade and readings err: both are
    allowed for. With --ask it asks for one reading after another: answer `y` or `n`, or type a line of a survey.

    \b
    Examples:
      loomwright identify headlamp.loom
      loomwright identify headlamp.loom --ask
      loomwright identify headlamp.loom --format json > found.json

    Exits 0, 1 when the file has errors or a reading fits nothing, 2 when a file cannot be read or written.
    """
    from ...checks.survey.identify import Identification
    from ..report.survey import identify_json, identify_text
    from .surveying import has_mistakes, read, require_leads

    if ask and format_ == "json":
        raise click.UsageError("--ask talks and --format json does not: give one")
    reading = read(file)
    survey = reading.survey
    if survey.harness is None:
        if reading.mistakes:
            raise click.exceptions.Exit(FOUND)
        raise CannotError(f"{file} has no diagram to identify its halves by: `draft` writes one from its readings")
    if not survey.harness.parts:
        raise CannotError(f"{survey.harness.file}, the diagram of {file}, has no part to identify a half by")
    require_leads(file, reading)
    known = Identification(survey)
    if ask:
        _ask(file, reading, known)
        return
    identified = _identified(known)
    click.echo(identify_json(identified) if format_ == "json" else identify_text(identified), nl=False)
    if has_mistakes(reading) or identified.odd:
        raise click.exceptions.Exit(FOUND)


def _identified(known: Identification, skipped: frozenset[frozenset[str]] = frozenset()) -> Identified:
    from ...checks.survey.answers import answers
    from ...checks.survey.contradiction import unexplained
    from ...checks.survey.probe import next_probe, owed_leads
    from ..report.survey import Identified

    return Identified(
        survey=known.survey,
        answers=answers(known),
        odd=unexplained(known),
        probe=next_probe(known, skipped),
        owed=len(owed_leads(known)),
    )


# --- the dialog
HELP = "y: beeps   n: silent   s: skip, it cannot be reached   l: list the halves   q: end; or a line of a survey"


def _ask(file: str, reading: SurveyReading, known: Identification) -> None:
    """Asks for one reading after the other until none is left or nobody answers any more."""
    from pathlib import Path

    from ...checks.survey.answers import answers
    from ...checks.survey.probe import next_probe, owed_leads
    from ...lang.diagnostics.visible import visible
    from ..report.survey import CAUTION, closing, half_lines, probe_lines

    skipped: frozenset[frozenset[str]] = frozenset()
    said = answers(known)
    click.echo(CAUTION)
    click.echo(HELP)
    while True:
        probe = next_probe(known, skipped)
        for line in list(probe_lines(probe, len(owed_leads(known))))[: 1 if probe is None or not probe.owed else 2]:
            click.echo(visible(line))
        click.echo("> ", nl=False)
        answer = sys.stdin.readline()
        if not answer or answer.strip() == "q" or (probe is None and not answer.strip()):
            break
        match answer.strip():
            case "y" | "n" | "s" if probe is None:
                click.echo("no reading is asked for; type a line of a survey, or q")
                continue
            case "y" | "n" as word if probe is not None:
                line = f"{'beeps' if word == 'y' else 'silent'} {probe.black} {probe.red}"
            case "s" if probe is not None:
                skipped |= {frozenset((probe.black, probe.red))}
                continue
            case "l":
                for half in said:
                    for each in half_lines(half):
                        click.echo(visible(each))
                continue
            case "" | "?" | "h":
                click.echo(HELP)
                continue
            case line:
                pass
        added = _added(Path(file), reading, line)
        if added is None:
            continue
        reading, known = added, _gone_on(known, added)
        before, said = said, answers(known)
        _tell_changes(before, said)
    click.echo(visible(closing(known.survey, said)))


def _gone_on(known: Identification, reading: SurveyReading) -> Identification:
    from ...checks.survey.identify import Identification

    return Identification(reading.survey, known)


def _added(path: Path, reading: SurveyReading, line: str) -> SurveyReading | None:
    """The survey with one more line, once it is in the file; ``None`` where the line says nothing: reported."""
    from ...lang.diagnostics.visible import visible
    from ...lang.editing.replace import replace_file
    from ...lang.survey.reading import read_survey

    file = reading.survey.file
    before = reading.texts[file]
    ending = "\r\n" if "\r\n" in before else "\n"
    text = f"{before}{'' if not before or before.endswith(chr(10)) else ending}{line}{ending}"
    new = read_survey(text, file, diagram=reading.diagram)
    wrong = [mistake for mistake in new.mistakes if mistake.span.line > before.count("\n")]
    if wrong or new.survey == reading.survey:
        for mistake in wrong:
            click.echo(visible(f"not added: {mistake.message}; expected {mistake.expected}"))
        if not wrong:
            click.echo("not added: this line says nothing new")
        return None
    try:
        old = before.encode("utf-8", "surrogateescape")
        replace_file(path, text.encode("utf-8", "surrogateescape"), was=old)
    except OSError as error:
        raise CannotError(f"{file}: cannot be written and is what it was: {reason(error)}") from None
    click.echo(visible(f"added: {line}"))
    return new


def _tell_changes(before: tuple[HalfAnswer, ...], after: tuple[HalfAnswer, ...]) -> None:
    """Which halves are another thing than before, or are known more or less surely."""
    from ...lang.diagnostics.visible import visible
    from ..report.survey import verdict_text

    old = {answer.half.name: (answer.verdict, answer.best) for answer in before}
    for answer in after:
        if old.get(answer.half.name) != (answer.verdict, answer.best):
            click.echo(visible(f"    {answer.half.name}: {verdict_text(answer)}"))
