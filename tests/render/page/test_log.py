"""The build log: what is in it gets into the page, and nothing else does, whatever somebody writes."""

from __future__ import annotations

import base64
import io
import os
import re
import subprocess
import xml.etree.ElementTree as ET
from html.parser import HTMLParser
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from outside import require_tool
from PIL import Image

from loomwright.checks.tables.house import profile_of
from loomwright.lang.diagnostics.diagnostic import Diagnostic
from loomwright.lang.files.reading import UnreadableError, read_file, read_text
from loomwright.render.page import fences
from loomwright.render.page.log import LARGEST_LOG, Log, log_beside, read_log
from loomwright.render.page.log_page import log_page
from loomwright.render.page.markdown import converted

BIKE = """loom "Bike"
place tray
source BAT battery at tray { voltage 12.6 V }
fuse F 10 A blade at tray
switch KEY 5 A key at tray { off: ; on: 1 2 }
ground FRAME at tray
load HEAD lamp at tray for lighting "LABEL" { lamp 35 W: 1 2 }
wire 1 BAT.+ to F.1 red 2 mm2 0.2 m
wire 2 F.2 to KEY.1 red 2 mm2 0.2 m
wire 3 KEY.2 to HEAD.1 yellow 1 mm2 0.2 m
wire 4 HEAD.2 to FRAME black 1 mm2 0.2 m
wire 5 BAT.- to FRAME black 4 mm2 0.2 m
state on { KEY on }
"""
VOID = {"meta", "img", "br", "hr"}


class Seen(HTMLParser):
    """What a browser would find in a page: that its elements are closed in order, and every attribute."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str]]] = []
        self.words: list[str] = []
        self._open: list[str] = []
        self.feed(html)
        self.close()
        assert not self._open, f"never closed: {self._open}"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        assert len(set(names)) == len(names), (tag, names)
        self.elements.append((tag, {name: value or "" for name, value in attrs}))
        if tag not in VOID:
            self._open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if tag in VOID:
            return
        assert self._open, f"</{tag}> closes nothing"
        assert self._open[-1] == tag, f"</{tag}> closes {self._open[-1]}"
        self._open.pop()

    def handle_data(self, data: str) -> None:
        self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join("".join(self.words).split())

    def all(self, tag: str) -> list[dict[str, str]]:
        return [attrs for name, attrs in self.elements if name == tag]


TAGS = {
    *("html", "head", "meta", "title", "style", "body", "header", "nav", "main", "footer", "ul", "ol", "li", "p", "a"),
    *("h1", "h2", "h3", "h4", "h5", "h6", "img", "span", "pre", "code", "em", "strong", "blockquote", "hr", "br"),
    *("figure", "figcaption", "div"),
}
ATTRIBUTES = {
    *("src", "alt", "width", "height", "href", "rel", "id", "dir", "class", "tabindex", "start", "lang", "charset"),
    *("http-equiv", "content", "name", "aria-label"),
}


def harmless(html: str) -> Seen:
    """The page as found; fails where anything in it could run, fetch, or lead somewhere that it may not."""
    seen = Seen(html)
    ids = [attrs["id"] for _, attrs in seen.elements if "id" in attrs]
    assert len(set(ids)) == len(ids)
    for tag, attrs in seen.elements:
        assert tag in TAGS
        assert set(attrs) <= ATTRIBUTES, (tag, attrs)
        assert attrs.get("src", "data:image/").startswith("data:image/")
        assert re.match(r"(https?://|mailto:|#log-)", attrs.get("href", "#log-"), re.IGNORECASE)
        if attrs.get("href", "").startswith("#"):
            assert attrs["href"][1:] in ids
    return seen


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "bike").mkdir()
    monkeypatch.chdir(tmp_path / "bike")
    Path("bike.loom").write_text(BIKE, "utf-8")
    return tmp_path / "bike"


def log_of(text: str | bytes, bike: str | None = None) -> Log:
    Path("log.md").write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_log("log.md", read_file("bike.loom") if bike is None else read_text(bike, "bike.loom"), profile_of)


def page(text: str, bike: str | None = None) -> Seen:
    log = log_of(text, bike)
    assert log.mistakes == ()
    return harmless(log_page("Bike", log))


def refused(text: str | bytes) -> Diagnostic:
    """The one mistake of a log."""
    log = log_of(text)
    assert log.html == ""
    (mistake,) = log.mistakes
    return mistake


def save_photograph(name: str, size: tuple[int, int] = (40, 30), colour: str = "red") -> bytes:
    target = io.BytesIO()
    Image.new("RGB", size, colour).save(target, "PNG")
    path = Path(name)
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(target.getvalue())
    return target.getvalue()


# --- what is in a log
def test_plain_markdown_becomes_html(here: Path) -> None:
    seen = page(
        "# Bike\n\nSome *words* and `code`.\n\n> said\n\n1. one\n2. two\n\n---\n\n    indented\n\nlast  \nline\n"
    )
    assert {"h2", "em", "code", "blockquote", "ol", "li", "hr", "pre", "br"} <= {tag for tag, _ in seen.elements}
    assert "Some words and code. said one two indented last line" in seen.text


def test_headings_go_below_those_of_the_page_and_have_ids_of_their_own(here: Path) -> None:
    log = log_of("## First day\n\n### Trunk\n\n## First day\n\n###### Deep\n\n[back](#first-day-2) [on](#trunk)\n")
    assert [(each.level, each.words, each.anchor) for each in log.headings] == [
        (2, "First day", "log-first-day"),
        (3, "Trunk", "log-trunk"),
        (2, "First day", "log-first-day-2"),
        (6, "Deep", "log-deep"),
    ]
    assert [attrs["href"] for attrs in harmless(log.html).all("a")] == ["#log-first-day-2", "#log-trunk"]


def test_the_page_lists_its_days(here: Path) -> None:
    seen = page("# Bike\n\n## 2 March\n\n## 16 March\n")
    assert [attrs["href"] for attrs in seen.all("a")] == ["#log-2-march", "#log-16-march"]


def test_a_photograph_stands_in_the_page_itself(here: Path) -> None:
    save_photograph("photos/old tray.png")
    seen = page('![Fuse "box" <open>](<photos/old tray.png> "The clips & springs")\n')
    (image,) = seen.all("img")
    assert image["alt"] == 'Fuse "box" <open>'
    assert (image["width"], image["height"]) == ("40", "30")
    kept = base64.b64decode(image["src"].removeprefix("data:image/png;base64,"))
    assert Image.open(io.BytesIO(kept)).getpixel((0, 0)) == (255, 0, 0)
    assert "The clips & springs" in seen.text


@pytest.mark.parametrize("address", ["rad%20é.png", "rad%20%C3%A9.png", "./rad%20é.png", "<rad é.png>"])
def test_a_photograph_is_named_as_addresses_are_written(here: Path, address: str) -> None:
    save_photograph("rad é.png")
    assert page(f"![]({address})").all("img")[0]["alt"] == "rad é"


def test_a_photograph_by_reference_and_in_a_link(here: Path) -> None:
    save_photograph("a.png")
    seen = page("![one][pic] and [![two](a.png)](https://example.org/shop?a=1&b=2)\n\n[pic]: a.png\n")
    assert [image["alt"] for image in seen.all("img")] == ["one", "two"]
    assert [link["href"] for link in seen.all("a")] == ["https://example.org/shop?a=1&b=2"]


# --- fences
def test_a_drawing_is_a_picture_of_the_harness(here: Path) -> None:
    (image,) = page("```loomwright draw\n```\n").all("img")
    drawing = base64.b64decode(image["src"].removeprefix("data:image/svg+xml;base64,"))
    assert ET.fromstring(drawing).tag == "{http://www.w3.org/2000/svg}svg"
    assert b"HEAD" in drawing
    assert image["alt"]


def test_a_drawing_of_one_system_leaves_the_others_out(here: Path) -> None:
    Path("bike.loom").write_text(
        BIKE + "load HORN horn at tray for signals { horn 2 A: 1 2 }\nwire 6 KEY.2 to HORN.1 blue 1 mm2 0.2 m\n"
        "wire 7 HORN.2 to FRAME black 1 mm2 0.2 m\n"
    )
    (image,) = page("~~~loomwright draw --system signals\n~~~\n").all("img")
    drawing = base64.b64decode(image["src"].partition(",")[2])
    assert b'data-part="HORN"' in drawing
    assert b'data-part="HEAD"' not in drawing


def test_a_drawing_in_a_state_shows_what_is_open_in_it(here: Path) -> None:
    sound, broken = drawn(
        page("```loomwright draw --state on\n```\n\n```loomwright draw --state on --fault 'wire 3 open'\n```\n")
    )
    assert b"Drawn in state on:" in sound
    assert b"wire 3 open" in broken
    assert sound != broken


def test_states_and_traces_are_what_the_commands_print(here: Path) -> None:
    from click.testing import CliRunner

    from loomwright.cli import main

    for words in ("states", "states --state on", "trace HEAD", "trace HEAD --with 'KEY on'", "trace HEAD --in on"):
        command, _, rest = words.partition(" ")
        printed = CliRunner().invoke(
            main, [command, "bike.loom", *rest.replace("'", "").split(" ", 2)] if rest else [command, "bike.loom"]
        )
        if "'" in words:
            printed = CliRunner().invoke(main, ["trace", "bike.loom", "HEAD", "--with", "KEY on"])
        assert printed.exit_code == 0, printed.output
        seen = page(f"```loomwright {words}\n```\n")
        assert " ".join(printed.output.split()) in seen.text, words


def test_bars_are_pictures_with_their_words(here: Path) -> None:
    images = page("```loomwright states --bars\n```\n").all("img")
    assert [image["alt"].partition(":")[0] for image in images] == [
        "Load of the fuses, % of their rating",
        "Voltage drop to each load and back, % of the battery's voltage",
        "Battery, A",
    ]
    for image in images:
        assert ET.fromstring(base64.b64decode(image["src"].partition(",")[2])).tag.endswith("svg")


def test_compare_shows_what_differs_from_the_harness_that_it_converts(here: Path) -> None:
    Path("old.loom").write_text(BIKE.replace("35 W", "45 W").replace("LABEL", "*[x](javascript:a) <b>*"), "utf-8")
    Path("bike.loom").write_text(BIKE.replace('loom "Bike"', 'loom "Bike"\nconverts "old.loom"'), "utf-8")
    seen = page("# Log\n\n```loomwright compare\n```\n")
    assert "old.loom → bike.loom" in seen.text
    assert "HEAD: 45 W → 35 W" in seen.text


def test_only_a_fence_at_the_outermost_level_is_a_command(here: Path) -> None:
    seen = page("- in a list\n\n  ```loomwright states\n  kept\n  ```\n\n```loom\nwire 1\n```\n\n`loomwright draw`\n")
    assert not seen.all("figure")
    assert "kept wire 1 loomwright draw" in seen.text


@pytest.mark.parametrize(
    ("fence", "said", "expected"),
    [
        ("", "a command is missing", "one of draw, states, trace, compare"),
        ("check", "a log has no command 'check'", "one of draw, states, trace, compare"),
        ("--help", "a log has no command '--help'", "one of draw, states, trace, compare"),
        ("draw --help", "no such option", "draw [--system ...] [--state ...] [--fault ...]"),
        ("draw -o ../x.svg", "no such option", "draw [--system ...] [--state ...] [--fault ...]"),
        ("draw --into x", "no such option", "draw [--system ...] [--state ...] [--fault ...]"),
        ("draw other.loom", "unexpected extra argument", "draw [--system ...] [--state ...] [--fault ...]"),
        ("draw --system flying", "no system", ""),
        ("draw --state never", "no state is named 'never'; there is on", ""),
        ("draw --fault 'wire 1 open'", "--fault is drawn in a state", "--state and its name"),
        ("draw --state on --fault 'wire 99 open'", "wire 99", ""),
        ("draw --state on --fault 'wire 1'", "no fault that can be drawn", ""),
        ("draw 'x", "a quotation mark is not closed", "two of a kind"),
        ("states --profile x.toml", "no such option", "states [--state ...] [--bars]"),
        ("states --state never", "no state is named 'never'; there is on", ""),
        ("trace", "missing argument", "trace NAME [--in ...] [--with ...]"),
        ("trace HAED", "is named 'HAED'", ""),
        ("trace HEAD --in never", "no state is named 'never'", ""),
        ("trace HEAD --in on --with 'KEY on'", "say the same thing in two ways", ""),
        ("trace HEAD --with KEY", "takes a control and its position", ""),
        ("trace HEAD --with 'KEY up'", "no position of KEY is named 'up'; there is off, on", ""),
        ("compare old.loom", "unexpected extra argument", "compare"),
        ("compare --faults", "no such option", "compare"),
        ("compare", "the harness converts no other one", "`revision:`"),
    ],
)
def test_a_fence_that_gives_nothing_says_why(here: Path, fence: str, said: str, expected: str) -> None:
    mistake = refused(f"# Log\n\n```loomwright {fence}\n```\n")
    assert mistake.kind == "log-fence"
    assert mistake.span.line == 3
    assert said.lower() in mistake.message.lower()
    assert expected in mistake.expected


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("revision: HEAD", "'HEAD' is no commit"),
        ("revision: main", "'main' is no commit"),
        ("revision: 123456", "'123456' is no commit"),
        (f"revision: {'a' * 41}", "is no commit"),
        ("revision: --output=x", "'--output=x' is no commit"),
        ("revision: 1234567 ; rm", "is no commit"),
        ("revision: 1234567^", "is no commit"),
        ("revision:", "'' is no commit"),
        ("file: x.loom", "'file: x.loom' is not allowed here"),
        ("draw", "'draw' is not allowed here"),
        ("revision: 1234567", "bike.loom is in no git repository"),
    ],
)
def test_what_is_no_revision_is_refused(here: Path, line: str, said: str) -> None:
    mistake = refused(f"text\n\n```loomwright draw\n\n{line}\n```\n")
    assert said in mistake.message
    assert mistake.span.line in (3, 5)


# --- revisions
def git(*arguments: str) -> str:
    return subprocess.run(["git", *arguments], check=True, capture_output=True, text=True).stdout.strip()


@pytest.fixture
def repository(here: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    require_tool("git")
    for name in ("GIT_AUTHOR", "GIT_COMMITTER"):
        monkeypatch.setenv(f"{name}_NAME", "a rider")
        monkeypatch.setenv(f"{name}_EMAIL", "rider@example.org")
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", os.devnull)
    git("init", "-q", "-b", "main")
    return here


def committed(text: str) -> str:
    Path("bike.loom").write_text(text, "utf-8")
    git("add", "-A")
    git("commit", "-q", "-m", "bike")
    return git("rev-parse", "HEAD")


def drawn(seen: Seen) -> list[bytes]:
    return [base64.b64decode(image["src"].partition(",")[2]) for image in seen.all("img")]


def test_the_log_keeps_the_drawing_of_its_day(repository: Path) -> None:
    first = committed(BIKE.replace("HEAD", "LAMP"))
    committed(BIKE)
    seen = page(f"```loomwright draw\nrevision: {first[:7]}\n```\n\n```loomwright draw\n```\n")
    then, now = drawn(seen)
    assert b'data-part="LAMP"' in then
    assert b'data-part="HEAD"' not in then
    assert b'data-part="HEAD"' in now
    assert f"loomwright draw in revision {first[:10]}" in seen.text
    assert drawn(page(f"```loomwright draw\nrevision: {first.upper()}\n```\n")) == [then]


def test_two_days_are_compared(repository: Path) -> None:
    first = committed(BIKE.replace("35 W", "55 W"))
    second = committed(BIKE.replace("35 W", "45 W"))
    Path("bike.loom").write_text(BIKE, "utf-8")
    both = page(f"```loomwright compare\nrevision: {first}\nrevision: {second}\n```\n")
    assert "HEAD: 55 W → 45 W" in both.text
    now = page(f"```loomwright compare\nrevision: {first}\n```\n")
    assert "HEAD: 55 W → 35 W" in now.text
    mistake = refused(f"```loomwright states\nrevision: {first}\nrevision: {second}\n```\n")
    assert mistake.message == "states takes no more than 1 of `revision:`"


def test_a_branch_that_looks_like_a_commit_is_not_taken_for_one(repository: Path) -> None:
    committed(BIKE)
    git("branch", "abcdef1")
    assert "no commit that begins with abcdef1" in refused("```loomwright draw\nrevision: abcdef1\n```\n").message


def test_what_is_no_commit_or_has_no_harness_is_refused(repository: Path) -> None:
    first = committed(BIKE)
    blob = git("rev-parse", "HEAD:bike.loom")
    for revision in ("0123456789", blob):
        assert "has no revision" in refused(f"```loomwright draw\nrevision: {revision}\n```\n").message
    git("mv", "bike.loom", "other.loom")
    moved = committed(BIKE.replace("F 10 A", "F 10 A"))
    git("rm", "-q", "--cached", "bike.loom")
    git("commit", "-q", "-m", "gone")
    gone = git("rev-parse", "HEAD")
    assert first != moved != gone
    assert "has no such file" in refused(f"```loomwright draw\nrevision: {gone}\n```\n").message


def test_a_link_in_a_revision_is_not_followed(repository: Path) -> None:
    Path("real.loom").write_text(BIKE, "utf-8")
    Path("bike.loom").unlink()
    Path("bike.loom").symlink_to("real.loom")
    git("add", "-A")
    git("commit", "-q", "-m", "link")
    linked = git("rev-parse", "HEAD")
    Path("bike.loom").unlink()
    Path("bike.loom").write_text(BIKE, "utf-8")
    assert "this is no file" in refused(f"```loomwright draw\nrevision: {linked}\n```\n").message


def test_errors_of_that_day_are_told(repository: Path) -> None:
    bad = committed(BIKE.replace("wire 5 BAT.-", "wire 5 BAAT.-"))
    Path("bike.loom").write_text(BIKE, "utf-8")
    message = refused(f"```loomwright draw\nrevision: {bad}\n```\n").message
    assert f"as of revision {bad} has errors: bike.loom:12:8" in message


def test_nothing_of_the_repository_is_run(repository: Path) -> None:
    """Neither filters, hooks, a monitor nor own rules of that day."""
    marks = f"touch {repository}/ran; cat"
    Path(".gitattributes").write_text("*.loom filter=mark diff=mark\n")
    Path("loomwright.toml").write_text('own-rules = ["rules.py"]\n')
    Path("rules.py").write_text("open('ran', 'w')\n")
    first = committed(BIKE)
    for key, value in (
        ("filter.mark.smudge", marks),
        ("filter.mark.clean", marks),
        ("core.fsmonitor", marks),
        ("diff.mark.textconv", marks),
        ("core.pager", marks),
        ("alias.cat-file", f"!{marks}"),
    ):
        git("config", key, value)
    for hook in ("post-checkout", "reference-transaction", "post-index-change"):
        path = Path(".git/hooks") / hook
        path.write_text(f"#!/bin/sh\n{marks}\n")
        path.chmod(0o755)
    Path("ran").unlink(missing_ok=True)
    page(f"```loomwright draw\nrevision: {first}\n```\n\n```loomwright compare\nrevision: {first}\n```\n")
    assert not Path("ran").exists()


def test_a_harness_is_read_once_a_day_and_a_fence_made_once(repository: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = committed(BIKE)
    read: list[str] = []
    plain = fences.read_revision
    monkeypatch.setattr(fences, "read_revision", lambda revision, file: read.append(revision) or plain(revision, file))
    fence = f"```loomwright states\nrevision: {first[:8]}\n```\n\n"
    page(fence * 3 + fence.replace("states", "draw"))
    assert read == [first]


# --- what may not get in
@pytest.mark.parametrize(
    ("address", "said"),
    [
        ("../secret.png", "outside the folder of the log"),
        ("photos/../../secret.png", "outside the folder of the log"),
        ("%2e%2e/secret.png", "outside the folder of the log"),
        ("..%2fsecret.png", "outside the folder of the log"),
        ("/etc/hostname", "outside the folder of the log"),
        ("%2fetc/hostname", "outside the folder of the log"),
        ("//example.org/a.png", "no name of a file"),
        ("https://example.org/a.png", "no name of a file"),
        ("http:a.png", "no name of a file"),
        ("file:///etc/hostname", "no name of a file"),
        ("javascript:alert(1)", "no name of a file"),
        ("data:image/png;base64,AAAA", "no name of a file"),
        ("C:/a.png", "no name of a file"),
        ("photos%5c..%5ca.png", "no name of a file"),
        ("a%00.png", "no name of a file"),
        ("", "no name of a file"),
        ("link.png", "a link that leads out"),
        ("folder/secret.png", "a link that leads out"),
        ("loop.png", "cannot be shown"),
        ("missing.png", "there is no such file"),
        ("photos", "this is a folder, not a file"),
        ("pipe.png", "this is no file"),
        ("log.md", "this is no photograph"),
        ("bike.loom", "this is no photograph"),
    ],
)
def test_only_photographs_of_its_own_folder_are_shown(here: Path, address: str, said: str) -> None:
    save_photograph("../secret.png")
    Path("photos").mkdir()
    Path("link.png").symlink_to("../secret.png")
    Path("folder").symlink_to("..")
    Path("loop.png").symlink_to("loop.png")
    os.mkfifo("pipe.png")
    mistake = refused(f"# Log\n\nsome words\nand ![words]({address}) here\n")
    assert mistake.kind == "log-picture"
    assert said in mistake.message
    assert mistake.span.line == 4


def test_a_link_within_the_folder_is_followed(here: Path) -> None:
    save_photograph("photos/a.png")
    Path("b.png").symlink_to("photos/a.png")
    assert page("![a](b.png)").all("img")[0]["alt"] == "a"


def test_a_log_that_is_a_link_to_elsewhere_is_not_read(here: Path) -> None:
    Path("../secret.md").write_text("# Secret")
    Path("log.md").symlink_to("../secret.md")
    with pytest.raises(UnreadableError, match=r"log\.md: it is a link that leads out"):
        read_log("log.md", read_file("bike.loom"), profile_of)


@pytest.mark.parametrize(
    "address",
    [
        *("javascript:alert(1)", "JaVaScRiPt:alert(1)", "&#106;avascript:alert(1)", "\\javascript:x", "vbscript:x"),
        *(
            "data:text/html,x",
            "file:///etc/passwd",
            "notes.md",
            "//example.org",
            "https:",
            "#nowhere",
            "ftp://example.org",
        ),
    ],
)
@pytest.mark.parametrize("form", ["[words]({})", "[words][r]\n\n[r]: {}", "[a **b** `c`]({} 'title')"])
def test_a_link_leads_to_a_web_site_a_person_or_a_heading(here: Path, address: str, form: str) -> None:
    mistake = refused(form.format(address))
    assert mistake.kind == "log-link"
    assert "https://, http:// or mailto:" in mistake.expected


def test_links_that_may_be_there_tell_the_site_nothing(here: Path) -> None:
    seen = page("[a](https://example.org/x) <mailto:rider@example.org> [b](HTTP://example.org)")
    assert all(link["rel"] == "noopener noreferrer" for link in seen.all("a"))
    assert [link["href"] for link in seen.all("a")] == [
        "https://example.org/x", "mailto:rider@example.org", "HTTP://example.org",
    ]  # fmt: skip


MARKUP = (
    "<script>alert(1)</script>",
    '<img src=x onerror="alert(1)">',
    '"><svg onload=alert(1)>',
    "</style></title></pre></code><h1>",
    "<!-- ",
    "<![CDATA[",
    "<?php ?>",
    "&lt;b&gt; &#60;b&#62; &amp;amp;",
    "'\" onmouseover='x' \"",
    "]]>",
)


@pytest.mark.parametrize("markup", MARKUP)
def test_markup_in_a_log_is_shown_as_it_is_written(here: Path, markup: str) -> None:
    save_photograph("a.png")
    for form in ("{}", "# {}", "- {}", "> {}", "`` {} ``", "    {}", "```{}\n{}\n```", "**{}**", "text\n{}\ntext"):
        seen = page(form.replace("{}", markup))
        assert "alert" not in "".join(
            value for _, attrs in seen.elements for name, value in attrs.items() if name != "alt" and name != "id"
        )
    written = seen.text if markup.startswith("&") else " ".join(markup.split())
    assert written in seen.text


@pytest.mark.parametrize("markup", [each.replace('"', "'") for each in MARKUP])
def test_markup_in_labels_and_titles_of_a_harness_is_shown_as_it_is_written(here: Path, markup: str) -> None:
    bike = BIKE.replace("LABEL", markup).replace('loom "Bike"', f'loom "{markup}"')
    Path("log.md").write_text("```loomwright draw\n```\n\n```loomwright trace HEAD\n```\n\n```loomwright states\n```\n")
    reading = read_text(bike, "bike.loom")
    assert not reading.mistakes
    log = read_log("log.md", reading, profile_of)
    seen = harmless(log_page(reading.harness.title or "", log))
    ET.fromstring(drawn(seen)[0])


WORDS = "כבל שחור \u202eevil\u202c مصباح 🏍️🔧 \u200b𝔽 ½ é\u0301"


def test_text_that_runs_from_right_to_left_and_emoji_stay_in_their_block(here: Path) -> None:
    seen = page(f"# {WORDS}\n\n{WORDS}\n\n- {WORDS}\n\n> {WORDS}\n")
    blocks = [attrs for tag, attrs in seen.elements if tag in ("h2", "p", "li", "blockquote")]
    assert blocks
    assert all(attrs["dir"] == "auto" for attrs in blocks)
    assert "כבל שחור" in seen.text
    assert "🏍️🔧" in seen.text


@pytest.mark.parametrize(
    ("data", "kind", "place"),
    [
        (b"# Log\n\nna\xefve \xff\n", "not-utf-8", (3, 1)),
        (b"\xff\xfe#\0", "not-utf-8", (1, 1)),
        (b"# Log\n\nbell \x07 here\n", "control-character", (3, 6)),
        (b"a\0b", "control-character", (1, 2)),
        (b"a\x1b[31m", "control-character", (1, 2)),
    ],
)
def test_what_is_no_text_is_refused(here: Path, data: bytes, kind: str, place: tuple[int, int]) -> None:
    mistake = refused(data)
    assert (mistake.kind, mistake.span.line, mistake.span.column) == (kind, *place)


def test_line_ends_of_either_sort_and_a_byte_order_mark_are_read(here: Path) -> None:
    log = log_of(b"\xef\xbb\xbf# Log\r\n\r\n```loomwright states\r\n```\r\n")
    assert log.mistakes == ()
    assert log.headings[0].words == "Log"
    assert "<figure" in log.html


def test_a_log_without_end_is_not_read(here: Path) -> None:
    Path("log.md").write_bytes(b"x" * (LARGEST_LOG + 1))
    with pytest.raises(UnreadableError, match="more than 2 MB"):
        read_log("log.md", read_file("bike.loom"), profile_of)


def test_all_that_is_wrong_is_told_at_once_in_the_order_of_the_text(here: Path) -> None:
    log = log_of("![a](no.png)\n\n[b](javascript:x)\n\n```loomwright fly\n```\n\n![c](../x.png)\n")
    assert [(each.kind, each.span.line) for each in log.mistakes] == [
        ("log-picture", 1), ("log-link", 3), ("log-fence", 5), ("log-picture", 8),
    ]  # fmt: skip


@pytest.mark.parametrize("text", ["[" * 20_000, ">" * 20_000, "*a " * 20_000, "`" * 20_001, "![" * 4_000, "- " * 9_000])
def test_deep_and_long_texts_end(here: Path, text: str) -> None:
    harmless(log_of(text).html)


@given(st.text(st.sampled_from("ab <>&\"'`*_[]()!#\\-\n:/=;~0.é\u202e🔧"), max_size=120))
def test_any_text_gives_sound_html(text: str) -> None:
    """Pictures and fences left aside, whatever is written comes out as a page that is harmless."""

    def nothing(_asked: object) -> str:
        return ""

    made = converted(text, top=2, prefix="log-", picture=nothing, block=nothing)
    harmless(made.html)


# --- which log
def test_the_log_of_a_harness_is_found_beside_it(here: Path) -> None:
    assert log_beside("bike.loom") is None
    Path("log.md").touch()
    assert log_beside("bike.loom") == "log.md"
    Path("bike-log.md").touch()
    assert log_beside("bike.loom") == "bike-log.md"
    assert log_beside("other.loom") == "log.md"
    assert log_beside(str(here / "bike.loom")) == str(here / "bike-log.md")


# --- in a browser
def test_a_browser_finds_nothing_to_complain_about(here: Path) -> None:
    """Content Security Policy lets the one style and the pictures through; nothing written gets to run."""
    chromium = require_tool("chromium")
    save_photograph("a.png")
    text = f"# Log\n\n![a](a.png)\n\n```loomwright draw\n```\n\n{' '.join(MARKUP)}\n"
    Path("page.html").write_text(log_page("</title><script>x</script>", log_of(text)), "utf-8")
    quiet = (
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        "--enable-logging=stderr",
        f"--user-data-dir={here}/profile",
    )
    done = subprocess.run(
        [chromium, *quiet, "--dump-dom", f"file://{here}/page.html"],
        capture_output=True,
        text=True,
        timeout=120,
        check=True,
    )
    assert "CONSOLE" not in done.stderr
    assert "<script" not in done.stdout
    assert done.stdout.count("<img ") == 2
    assert "alert(1)" in done.stdout
