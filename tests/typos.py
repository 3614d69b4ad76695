"""Sound harnesses with one word mistyped, and whether what is stated of each helps: one mistake, its line, its
correction.

``python tests/typos.py 1000 --first 0`` counts how many help, shows those that do not, and fails below 92 %.
"""

from __future__ import annotations

import argparse
import random
import re
import sys
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

from loomwright.lang.diagnostics.diagnostic import Diagnostic
from loomwright.lang.files.reading import read_text

SPECS: Final = Path(__file__).resolve().parents[1] / "specs"
FILES: Final = (SPECS / "stock.loom", SPECS / "rebuild.loom", *sorted((SPECS / "small").glob("*.loom")))
_WORD: Final = re.compile(r"[A-Za-z0-9][\w+\-]*")
_ROWS: Final = ("1234567890", "qwertyuiop", "asdfghjkl", "zxcvbnm")
_NEIGHBOURS: Final = {
    key: row[max(at - 1, 0) : at] + row[at + 1 : at + 2] for row in _ROWS for at, key in enumerate(row)
}


@dataclass(frozen=True)
class Typo:
    """``text`` is the whole file with ``right`` written as ``wrong`` on ``line`` (from 1), once."""

    file: str
    text: str
    line: int
    right: str
    wrong: str


@cache
def _sound(path: Path) -> tuple[str, tuple[tuple[int, int, str], ...]]:
    """A text, and its words outside comments and labels: line from 1, column from 0, the word."""
    text = path.read_text("utf-8")
    words = []
    for number, row in enumerate(text.split("\n"), 1):
        bare = re.sub(r'"[^"]*"|(?:^|(?<=\s))#.*', lambda found: " " * len(found[0]), row)
        words += [(number, m.start(), m[0]) for m in _WORD.finditer(bare) if re.search("[A-Za-z]{2}", m[0])]
    return text, tuple(words)


def _slip(word: str, chance: random.Random) -> str:
    """A word as a hurried hand writes it: a letter lost, doubled, exchanged with the next, or hit beside."""
    at = chance.randrange(len(word))
    how = chance.choice(("lost", "doubled", "exchanged", "beside"))
    if how == "exchanged" and at + 1 < len(word):
        return word[:at] + word[at + 1] + word[at] + word[at + 2 :]
    if how == "lost":
        return word[:at] + word[at + 1 :]
    beside = _NEIGHBOURS.get(word[at].lower(), "")
    if how == "beside" and beside:
        letter = chance.choice(beside)
        return word[:at] + (letter.upper() if word[at].isupper() else letter) + word[at + 1 :]
    return word[:at] + word[at] + word[at:]


def typo(seed: int) -> Typo:
    """The typo of a number, of those that make a mistake: what can be read as something else is no typo to a reader."""
    chance = random.Random(seed)
    while True:
        path = chance.choice(FILES)
        text, words = _sound(path)
        line, column, right = chance.choice(words)
        wrong = _slip(right, chance)
        if wrong == right:
            continue
        rows = text.split("\n")
        row = rows[line - 1]
        rows[line - 1] = row[:column] + wrong + row[column + len(right) :]
        spoilt = Typo(path.name, "\n".join(rows), line, right, wrong)
        if read_text(spoilt.text, f"specs/{spoilt.file}").mistakes:
            return spoilt


def failing(spoilt: Typo) -> str:
    """Why what is stated of a typo does not help; empty where it does."""
    mistakes = read_text(spoilt.text, f"specs/{spoilt.file}").mistakes
    if len(mistakes) != 1:
        return f"{len(mistakes)} mistakes"
    if mistakes[0].span.line != spoilt.line:
        return f"told of line {mistakes[0].span.line}"
    return "" if names_correction(mistakes[0], spoilt.right) else "does not name the correction"


def names_correction(mistake: Diagnostic, right: str) -> bool:
    said = " ".join((mistake.expected, mistake.remedy, *(note.text for note in mistake.notes)))
    return (
        (mistake.nearest or "").rpartition(".")[2] == right
        or mistake.nearest == right
        or any(right in re.split(r"[\s./]", quoted) for quoted in re.findall(r"`([^`]*)`", said))
    )


GOAL: Final = 0.92


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("count", type=int)
    parser.add_argument("--first", type=int, default=0)
    chosen = parser.parse_args()
    bad = 0
    for seed in range(chosen.first, chosen.first + chosen.count):
        spoilt = typo(seed)
        if why := failing(spoilt):
            bad += 1
            print(f"{seed}: {spoilt.file}:{spoilt.line}: `{spoilt.right}` as `{spoilt.wrong}`: {why}")
    share = 1 - bad / chosen.count
    print(
        f"{share:.1%} of {chosen.count} are reported once, on their line, with their correction; the goal is {GOAL:.0%}"
    )
    return int(share < GOAL)


if __name__ == "__main__":
    sys.exit(main())
