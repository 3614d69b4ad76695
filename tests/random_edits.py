"""What an editor says after each of many edits, beside a check from nothing: ``python tests/random_edits.py [COUNT]``.

Desks with one harness or several files are edited as people do: lengths, sizes, colours, labels, comments, ratings,
wires to another end, contacts, lines that come, go and move, slips of the pen, undo and redo. After each edit the
editor's reading, which keeps what it worked out before, must say word for word what reading and checking the same texts
for the first time says. A desk begins again after some edits, so that it stays a motorcycle. Ends with status 1 where
one differs; ``--first`` names the first desk.
"""

from __future__ import annotations

import argparse
import random
import re
import sys
from collections.abc import Callable, Iterable, Iterator
from datetime import date
from pathlib import Path

from loomwright.checks.runner.run import Report, check
from loomwright.lang.files.reading import Reading, read_text
from loomwright.lang.survey.words import is_survey
from loomwright.render.editor.diagnostics import Problem, of_mistakes, of_report
from loomwright.render.editor.workspace import Understood, Workspace
from loomwright.render.report.findings import report_text

SPECS = Path(__file__).resolve().parents[1] / "specs"
TODAY = date(2026, 11, 3)
NOWHERE = Path("/nowhere")
DESK = 25
"""Edits until a desk begins again."""
COLOURS = ("red", "black", "blue", "green/white", "yellow", "brown", "orange", "violet/black")
SIZES = ("0.5 mm2", "1 mm2", "1.5 mm2", "2.5 mm2", "6 mm2", "16 AWG", "28 x 0.30 mm")
WORDS = ("tank", "bars", "kept", "red", "mm2", "K9", "FRAME", "off", "on", "live", "dead", "not", "via")

Texts = dict[str, str]
"""The text of each file, by its name."""


# --- desks -----------------------------------------------------------------------------------------------------------
def desks() -> tuple[Texts, ...]:
    """The texts to begin with; the first file of each is the harness that is checked."""
    stock, rebuild = (_spec(name) for name in ("stock.loom", "rebuild.loom"))
    return (
        {"rebuild.loom": rebuild, "stock.loom": stock},
        parted("electric.loom", _spec("small/electric-start.loom")),
        {"magneto.loom": _spec("small/six-volt-magneto.loom")},
        parted("points.loom", _spec("small/points-single.loom")),
        {"stock.loom": stock},
        {"trail.loom": _spec("small/trail-bike.loom")},
        {"windings.loom": _spec("rules/lamp-out/bad.loom")},
        parted("twin.loom", _spec("small/permanent-magnet-twin.loom")),
        {"unit.loom": _spec("rules/latch-stuck/good.loom")},
    )


def _spec(name: str) -> str:
    return (SPECS / name).read_text(encoding="utf-8")


def parted(name: str, text: str) -> Texts:
    """A harness with its wires in a second file, and what it expects of them in a third."""
    lines = text.split("\n")
    wires = [line for line in lines if line.startswith("wire ")]
    expects = [line for line in lines if line.startswith("expect ")]
    title = next(place for place, line in enumerate(lines) if line.startswith("loom"))
    lines.insert(title + 1, 'use "parted/wires.loom"\nuse "parted/expected.loom"')
    return {
        name: "\n".join(line for line in lines if line not in wires and line not in expects),
        "parted/wires.loom": "\n".join([*wires, ""]),
        "parted/expected.loom": "\n".join([*expects, ""]),
    }


# --- edits -----------------------------------------------------------------------------------------------------------
def _each(pattern: str, new: Callable[[random.Random, re.Match[str]], str]) -> Callable[[random.Random, str], str]:
    """An edit of one place in a text that a pattern finds; none where it finds none."""

    def edited(rng: random.Random, text: str) -> str:
        found = list(re.finditer(pattern, text, re.MULTILINE))
        if not found:
            return text
        at = rng.choice(found)
        return text[: at.start()] + new(rng, at) + text[at.end() :]

    return edited


def _rated(rng: random.Random, at: re.Match[str]) -> str:
    return f"{float(at[1]) * rng.choice((0.2, 0.5, 0.9, 1.1, 2.0, 8.0)):.2f} {at[2]}"


def _lines(change: Callable[[random.Random, list[str]], None]) -> Callable[[random.Random, str], str]:
    def edited(rng: random.Random, text: str) -> str:
        lines = text.split("\n")
        change(rng, lines)
        return "\n".join(lines)

    return edited


def _swap(rng: random.Random, lines: list[str]) -> None:
    a, b = rng.randrange(len(lines)), rng.randrange(len(lines))
    lines[a], lines[b] = lines[b], lines[a]


def _other_end(rng: random.Random, text: str) -> str:
    """A wire to the end of another one."""
    ends = re.findall(r"^wire \S+ (\S+) to (\S+)", text, re.MULTILINE)
    if not ends:
        return text
    return _each(r"^(wire \S+ \S+ to )(\S+)", lambda rng, at: at[1] + rng.choice(rng.choice(ends)))(rng, text)


def _part_s_other_end(rng: random.Random, text: str) -> str:
    """A wire to another terminal of the same part."""
    ends = set(re.findall(r"\b([\w-]+)\.([\w+-]+)(?= )", text))
    same = lambda at: [terminal for part, terminal in sorted(ends) if part == at[1]]  # noqa: E731
    return _each(r"(?<= )([\w-]+)\.([\w+-]+)(?= )", lambda r, at: f"{at[1]}.{r.choice(same(at))}")(rng, text)


def _grounded_end(rng: random.Random, text: str) -> str:
    """A wire to a ground instead: often a dead short, in some positions of the controls or in all."""
    grounds = re.findall(r"^ground (\S+)", text, re.MULTILINE) or ["FRAME"]
    return _each(r"^(wire \S+ \S+ to )(\S+)", lambda rng, at: at[1] + rng.choice(grounds))(rng, text)


EDITS: dict[str, Callable[[random.Random, str], str]] = {
    "length": _each(
        r"^wire [^#{\n]*$", lambda r, at: re.sub(r" [\d.]+ m\b", "", at[0]) + f" {r.uniform(0.1, 4):.2f} m"
    ),
    "written length": _each(r"\b\d[\d.]* m\b", lambda r, _: f"{r.uniform(0.1, 4):.2f} m"),
    "size": _each(r"\b[\d.]+ mm2|\b\d+ AWG", lambda r, _: r.choice(SIZES)),
    "colour": _each(r"\b(?:red|black|blue|green|yellow|brown|orange|white)(?:/\w+)?\b", lambda r, _: r.choice(COLOURS)),
    "label": _each(r'"[^"\n]*"', lambda r, _: f'"label {r.randrange(99)}"'),
    "new label": _each(r"^((?:switch|fuse|relay|lamp) \S+)", lambda r, at: f'{at[1]} "label {r.randrange(99)}"'),
    "comment": _each(r"$", lambda r, _: f"  # note {r.randrange(99)}"),
    "line before": _each(r"^", lambda r, _: f"# line {r.randrange(99)}\n"),
    "rating": _each(r"\b(\d+(?:\.\d+)?) (A|W|V|ohm|Ah|mA|%|s)\b", _rated),
    "other end": _other_end,
    "part's other end": _part_s_other_end,
    "grounded end": _grounded_end,
    "contact turned": _each(r"(?<=[:,] )([\w+-]+) ([\w+-]+)(?= *[,;}\n])", lambda _, at: f"{at[2]} {at[1]}"),
    "contact gone": _each(r", [\w+-]+ [\w+-]+(?= *[,;}\n])", lambda *_: ""),
    "contact in another row": _each(
        r"\b([\w-]+): ([\w+-]+ [\w+-]+); ([\w-]+):", lambda _, at: f"{at[1]}: ; {at[3]}: {at[2]}"
    ),
    "route": _each(r"^route (\S+) (\S+)", lambda r, at: f"route {at[2]} {at[1]}"),
    "class": _each(r"\bclass [A-H]\b", lambda r, _: f"class {r.choice('ABCDE')}"),
    "line gone": _lines(lambda r, lines: lines.pop(r.randrange(len(lines))) and None),
    "line twice": _lines(lambda r, lines: lines.insert(r.randrange(len(lines)), r.choice(lines))),
    "lines exchanged": _lines(_swap),
    "slip": _each(r"\b[A-Za-z]\w+\b", lambda r, at: at[0][: r.randrange(1, len(at[0]))] + "x"),
    "word": _each(r"\b[A-Za-z][\w-]*\b", lambda r, _: r.choice(WORDS)),
    "removed": _each(r" (?:kept|momentary|key|always|wet|sealed|flexing)\b", lambda *_: ""),
    "state": _each(
        r"^(state \S+ )\{[^}\n]*\}", lambda r, at: f"{at[1]}{{ engine {r.choice(('off', 'running', 'idling'))} }}"
    ),
}
"""Every kind of edit, by name: gives the changed text."""


class Writer:
    """Somebody who edits some texts, takes an edit back now and then, and leaves no mistake for long."""

    def __init__(self, texts: Texts, rng: random.Random) -> None:
        self._rng = rng
        self._sound = [texts]
        self.texts = texts

    def edit(self, *, sound: bool) -> str:
        """Edits once, and says how; ``sound``: whether the texts are without a mistake."""
        if sound:
            self._sound.append(self.texts)
        whole = sound or self._rng.random() < 0.4
        what = self._rng.choice([*EDITS, "undo", "redo"]) if whole else "correction"
        if what == "undo" and len(self._sound) > 1:
            self._sound.pop()
        if what in ("undo", "correction"):
            self.texts = self._sound[-1]
        elif what == "redo":
            self.texts = self._rng.choice(self._sound)
        else:
            file = self._rng.choice(list(self.texts))
            self.texts = {**self.texts, file: EDITS[what](self._rng, self.texts[file])}
        return what


# --- both answers ----------------------------------------------------------------------------------------------------
class Desk:
    """An editor with some texts open, all of which are only there; ``first`` names the one that is checked."""

    def __init__(self, folder: Path, first: str) -> None:
        self.folder = folder
        self.root = str(folder / first)
        self.workspace = Workspace(lambda: TODAY)
        self.texts: Texts = {}

    def said(self, texts: Texts) -> tuple[bool, str]:
        """Whether the texts are a harness, and all that the editor says of them."""
        for name, text in texts.items():
            if self.texts.get(name) != text:
                self.workspace.put(str(self.folder / name), text)
        self.texts = texts
        known = self.workspace.understood(self.root)
        return known.sound, _kept(known)

    def said_from_nothing(self) -> str:
        """The same of somebody who reads these texts for the first time."""
        known = Workspace(lambda: TODAY)
        known.open.update(self.workspace.open)

        def load(path: Path) -> str:
            return known.text(str(path))

        reading = read_text(self.workspace.open[self.root], self.root, load=load)
        return _all_of(reading, check(reading, today=TODAY))


def _kept(known: Understood) -> str:
    if not known.sound:
        return "\n".join(_lines_of(of_mistakes(known.reading)))
    return _all_of(known.reading, known.report())


def _all_of(reading: Reading, report: Report) -> str:
    if report.mistakes:
        problems = of_mistakes(Reading(harness=reading.harness, mistakes=report.mistakes, texts=reading.texts))
        return "\n".join(_lines_of(problems))
    proposed = (repr(each.proposals) for each in report.findings)
    return "\n".join((report_text(report, waived=True), *_lines_of(of_report(report)), *proposed))


def _lines_of(problems: tuple[Problem, ...]) -> Iterator[str]:
    for each in problems:
        yield f"{each.span} {each.span.end_column} {each.level} {each.code} {each.message} {each.related}"


def first_difference(mine: str, theirs: str) -> str:
    pairs = zip(mine.split("\n"), theirs.split("\n"), strict=False)
    return next((f"{a}\n  from nothing: {b}" for a, b in pairs if a != b), "one says more than the other")


def tried(count: int, first: int = 0, each: int = DESK) -> Iterator[tuple[str, str]]:
    """What differs after some edits, ``each`` of one desk: where, and the first line that does."""
    starts = desks()
    seed = first
    while count > 0:
        texts = starts[seed % len(starts)]
        desk, writer, what = Desk(NOWHERE, next(iter(texts))), Writer(texts, random.Random(seed)), "nothing"
        for number in range(min(each, count)):
            sound, mine = desk.said(writer.texts)
            theirs = desk.said_from_nothing()
            if mine != theirs:
                yield f"desk {seed}, edit {number}, {what}", first_difference(mine, theirs)
            what = writer.edit(sound=sound)
        count -= each
        seed += 1


def opened(files: Iterable[Path]) -> Iterator[tuple[str, str]]:
    """The same of harnesses as they are on the disk."""
    for file in files:
        text = file.read_text(encoding="utf-8", errors="surrogateescape")
        if is_survey(text):
            continue
        desk = Desk(file.parent, file.name)
        _, mine = desk.said({file.name: text})
        theirs = desk.said_from_nothing()
        if mine != theirs:
            yield str(file.relative_to(SPECS)), first_difference(mine, theirs)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("count", nargs="?", type=int, default=2000)
    parser.add_argument("--first", type=int, default=0)
    arguments = parser.parse_args()
    different = 0
    harnesses = sorted(SPECS.glob("**/*.loom"))
    for where, how in (*opened(harnesses), *tried(arguments.count, arguments.first)):
        different += 1
        print(f"{where}: {how}", flush=True)
    print(f"{arguments.count} edits, {len(harnesses)} harnesses: {different} differ from a check from nothing")
    return int(different > 0)


if __name__ == "__main__":
    sys.exit(main())
