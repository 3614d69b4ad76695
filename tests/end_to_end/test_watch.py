"""``loomwright watch`` in a separate process: an answer for each save, a clean end."""

from __future__ import annotations

import os
import pty
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

SPEC = Path(__file__).resolve().parents[2] / "specs" / "rules" / "short-wire" / "edge-found.loom"


@pytest.fixture
def watching(tmp_path: Path) -> Iterator[tuple[subprocess.Popen[str], Path]]:
    bike = tmp_path / "bike.loom"
    bike.write_text(SPEC.read_text(encoding="utf-8"))
    command = [sys.executable, "-m", "loomwright", "watch", "bike.loom"]
    with subprocess.Popen(
        command,
        cwd=tmp_path,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        encoding="utf-8",
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # noqa: PLW1509
    ) as process:
        yield process, bike
        process.kill()


def answer(process: subprocess.Popen[str]) -> str:
    """Lines up to the one that counts what was found."""
    assert process.stdout is not None
    lines = []
    while line := process.stdout.readline():
        lines.append(line)
        if line.startswith("bike.loom: "):
            break
    return "".join(lines)


def test_each_save_is_answered_and_ctrl_c_ends_it(watching: tuple[subprocess.Popen[str], Path]) -> None:
    process, bike = watching
    sound = bike.read_text()
    first = answer(process)
    assert re.match(r"== \d\d:\d\d:\d\d\n", first)
    assert "[short-wire]" in first
    bike.write_text(sound + "fuse 30A\n")
    assert "not checked: fix the errors in the file first" in answer(process)
    bike.unlink()
    bike.write_text(sound)
    assert "[short-wire]" in answer(process)
    process.send_signal(signal.SIGINT)
    assert process.stderr is not None
    assert process.stderr.read() == ""  # comes to its end when the process does, however long that takes
    assert process.wait() == 0


def test_settings_and_accepted_findings_are_watched_and_waited_for(
    watching: tuple[subprocess.Popen[str], Path],
) -> None:
    process, bike = watching
    assert "[short-wire]" in answer(process)
    settings = bike.with_name("loomwright.toml")
    settings.write_text('accepted = "accepted.json"\n')
    assert "[short-wire]" in answer(process), "the list is not there yet"
    subprocess.run(
        [sys.executable, "-m", "loomwright", "accept", "bike.loom"], cwd=bike.parent, check=True, capture_output=True
    )
    assert "bike.loom: nothing found, 1 accepted (" in answer(process)
    settings.write_text("accepted = 5\n")
    assert process.stderr is not None
    broken = process.stderr.readline()
    assert broken.startswith("loomwright: loomwright.toml, accepted: expected the name of a list")
    assert broken.endswith("; waiting for it\n")
    settings.unlink()
    assert "[short-wire]" in answer(process)


@pytest.mark.parametrize("asked", [["--clear"], []])
def test_the_terminal_is_cleared_only_where_that_is_asked(tmp_path: Path, asked: list[str]) -> None:
    (tmp_path / "bike.loom").write_text(SPEC.read_text(encoding="utf-8"))
    ours, theirs = pty.openpty()
    command = [sys.executable, "-m", "loomwright", "watch", *asked, "bike.loom"]
    with subprocess.Popen(command, cwd=tmp_path, stdout=theirs) as process:
        shown = b""
        while b"bike.loom: " not in shown:
            shown += os.read(ours, 4096)
        process.kill()
    os.close(ours)
    os.close(theirs)
    before, marked, _ = shown.partition(b"== ")
    assert marked
    assert (b"\x1b[2J" in before) is bool(asked)


def test_a_file_that_is_gone_is_waited_for(watching: tuple[subprocess.Popen[str], Path]) -> None:
    process, bike = watching
    sound = bike.read_text()
    answer(process)
    bike.unlink()
    assert process.stderr is not None
    assert process.stderr.readline() == "loomwright: cannot read bike.loom: there is no such file; waiting for it\n"
    bike.write_text(sound)
    assert "[short-wire]" in answer(process)
