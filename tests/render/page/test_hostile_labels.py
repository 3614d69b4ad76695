"""Labels with markup, quotes, very long words, right-to-left letters and emoji: a page shows each as what it is.

And the smallest harnesses: no wire at all, and one.
"""

from __future__ import annotations

import json
from collections import Counter
from html.parser import HTMLParser
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from browser import opened
from click.testing import CliRunner
from hostile_texts import HEAD, MARKUP

from loomwright.cli import main

if TYPE_CHECKING:
    from playwright.sync_api import Browser

LABELS = (
    *(text.replace('"', "'") for text in MARKUP),
    "' onload='alert(1)",
    "&lt;b&gt; &amp; &#60;b&#62;",
    "<!--",
    "</script></style></title>",
    "`${alert(1)}`",
    "W" * 300,
    "שלום פנס קדמי",
    "مصباح أمامي",
    "👩‍🔧🏍️🔦",
)
COUNT = """() => Object.entries([...document.querySelectorAll('*:not(text)')].reduce((all, each) => {
    all[each.localName] = (all[each.localName] || 0) + 1; return all }, {})).sort()"""
"""Elements by name; but lines of words in a drawing: a label with spaces is set in several."""
ALL_TEXT = """() => [...document.querySelectorAll('body *:not(script, style)')].flatMap(each => [...each.childNodes])
    .filter(each => each.nodeType === Node.TEXT_NODE).map(each => each.data).join('\\n')"""
FENCES = """# A log

```loomwright draw
```

```loomwright states
```

```loomwright trace L0
```

"""


def harness(labels: tuple[str, ...]) -> str:
    """A lamp for each label, with a wire that bears it too; a state, a title and a place in a loom besides."""
    lines = [HEAD.replace('"hostile"', f'"{labels[3]}"'), "splice SP at tray\n"]
    lines.append("switch LIGHT 20 A at tray { off: ; on: 1 2 }\n")
    lines.append("wire s1 MAIN.2 to LIGHT.1 red 1 mm2 0.1 m\nwire s2 LIGHT.2 to SP red 1 mm2 0.1 m\n")
    for number, label in enumerate(labels):
        lines.append(f'load L{number} lamp at tray for lighting "{label}" {{ a 1 W: 1 2 }}\n')
        lines.append(f'wire to{number} SP to L{number}.1 red 1 mm2 0.1 m "{label}"\n')
        lines.append(f"wire from{number} L{number}.2 to FRAME black 1 mm2 0.1 m\n")
    lines.append("state on { LIGHT on }\n")
    return "".join(lines)


class Elements(HTMLParser):
    """Every element of a page, as a parser of HTML finds them, and its attributes."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.found: Counter[tuple[str, tuple[str, ...]]] = Counter()
        self.addresses: list[str] = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found[tag, tuple(name for name, _ in attrs)] += 1
        self.addresses += [value or "" for name, value in attrs if name in ("src", "href", "xlink:href")]


def made(command: str, labels: tuple[str, ...], folder: Path) -> Path:
    folder.mkdir(exist_ok=True)
    (folder / "bike.loom").write_text(harness(labels), "utf-8")
    (folder / "log.md").write_text(FENCES + "".join(f"    {label}\n" for label in labels), "utf-8")
    target = folder / f"{command}.html"
    done = CliRunner().invoke(main, [command, str(folder / "bike.loom"), "-o", str(target)], catch_exceptions=False)
    assert done.exit_code == 0, done.output
    return target


def plain(labels: tuple[str, ...]) -> tuple[str, ...]:
    """Labels that nobody could take for more, each as long as the one in its place."""
    return tuple("x" * len(label) for label in labels)


@pytest.mark.parametrize("command", ["page", "log"])
def test_labels_make_no_element_and_no_attribute(command: str, tmp_path: Path) -> None:
    """By an independent parser: the same elements as with plain labels, and addresses of nothing outside."""
    odd = Elements(made(command, LABELS, tmp_path / "odd").read_text("utf-8"))
    usual = Elements(made(command, plain(LABELS), tmp_path / "usual").read_text("utf-8"))
    assert odd.found == usual.found
    assert all(address.startswith(("data:image/", "#")) for address in odd.addresses), odd.addresses
    assert len(odd.found) > 5


def test_a_browser_shows_the_labels_as_text_and_loads_nothing(tmp_path: Path, browser: Browser) -> None:
    """``opened`` fails at a request or a word on the console."""
    counted = {}
    for name, labels in (("odd", LABELS), ("usual", plain(LABELS))):
        file = made("page", labels, tmp_path / name)
        with opened(browser, file) as page:
            page.get_by_role("button", name="on", exact=True).first.click()
            counted[name] = page.evaluate(COUNT)
            assert page.title() == labels[3]
            everything = page.evaluate(ALL_TEXT)
            assert [label for label in labels if label not in everything] == []
    assert counted["odd"] == counted["usual"]


# --- no wire, and one -------------------------------------------------------------------------------------------------
SMALLEST = {
    "nothing": "",
    "a title": 'loom "Empty"\n',
    "a part": "source BAT battery { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }\n",
    "a wire": (
        "source BAT battery { voltage 12.6 V; capacity 14 Ah; resistance 15 mohm }\n"
        "load LAMP lamp { lamp 21 W: 1 2 }\n"
        "wire 1 BAT.+ to LAMP.1 red 1 mm2 0.15 m\n"
    ),
}


@pytest.mark.parametrize("text", SMALLEST.values(), ids=SMALLEST)
def test_the_smallest_harnesses_give_a_page_numbers_and_paper(text: str, tmp_path: Path, browser: Browser) -> None:
    file = tmp_path / "small.loom"
    file.write_text(text, "utf-8")
    wanted = {"page": tmp_path / "small.html", "export": tmp_path / "small.json"}
    for command, target in wanted.items():
        done = CliRunner().invoke(main, [command, str(file), "-o", str(target)], catch_exceptions=False)
        assert done.exit_code == 0, done.output
    drawn = ["draw", str(file), "--paper", "A4", "--into", str(tmp_path / "paper")]
    assert CliRunner().invoke(main, drawn, catch_exceptions=False).exit_code == 0
    circuit = json.loads(wanted["export"].read_text("utf-8"))
    names = [each["key"] for each in circuit["branches"]]
    sheets = "".join(sheet.read_text("utf-8") for sheet in (tmp_path / "paper").iterdir())
    with opened(browser, wanted["page"]) as page:
        shown = page.locator("body").inner_text()
    for part in ("BAT", "LAMP"):
        assert (part in shown) == (f">{part}<" in sheets) == (f" {part} " in text)
    assert any("wire 1" in name for name in names) == ("wire 1" in text)
    assert "No load is live." in shown
