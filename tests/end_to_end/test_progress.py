"""Progress: on a terminal only, of long works only, and never in what is printed. No clock runs: the timer is ours."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest
from click.testing import CliRunner, Result

from loomwright.cli import main
from loomwright.render.commands import progress as home
from loomwright.render.commands.progress import QUIET, progress

SPECS = Path(__file__).parents[2] / "specs"


class Terminal(io.StringIO):
    """Standard error that somebody watches."""

    def isatty(self) -> bool:
        return True


class Later:
    """A timer whose time never comes, unless ``elapse`` says so."""

    made: list[Later]

    def __init__(self, seconds: float, then: Callable[[], None]) -> None:
        assert seconds == QUIET
        self.then, self.daemon, self.started, self.cancelled = then, False, False, False
        Later.made.append(self)

    def start(self) -> None:
        assert self.daemon, "a work that breaks off must not wait for it"
        self.started = True

    def cancel(self) -> None:
        self.cancelled = True

    def elapse(self) -> None:
        assert self.started
        self.then()


class AtOnce(Later):
    """A timer whose time has come as soon as it is started."""

    def start(self) -> None:
        super().start()
        self.then()


@pytest.fixture(autouse=True)
def timers(monkeypatch: pytest.MonkeyPatch) -> list[Later]:
    Later.made = []
    monkeypatch.setattr(home, "Timer", Later)
    monkeypatch.setenv("TERM", "xterm")
    return Later.made


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> Terminal:
    stream = Terminal()
    monkeypatch.setattr(home, "sys", SimpleNamespace(stderr=stream))
    return stream


def test_a_file_and_a_pipe_get_nothing(monkeypatch: pytest.MonkeyPatch, timers: list[Later]) -> None:
    stream = io.StringIO()
    monkeypatch.setattr(home, "sys", SimpleNamespace(stderr=stream))
    with progress("sizing") as steps:
        steps(1, 2)
    assert stream.getvalue() == ""
    assert timers == []


def test_a_quick_work_shows_nothing(terminal: Terminal, timers: list[Later]) -> None:
    with progress("sizing") as steps:
        steps(1, 2)
    assert terminal.getvalue() == ""
    assert timers[0].cancelled
    timers[0].elapse()  # it was on its way when the work ended
    assert terminal.getvalue() == ""


def test_a_long_work_says_what_it_is_and_takes_it_away_again(terminal: Terminal, timers: list[Later]) -> None:
    with progress("simulating faults") as steps:
        steps(3, 10)
        timers[0].elapse()
        assert "simulating faults" in terminal.getvalue()
        steps(9, 10)
    assert terminal.getvalue().endswith("\x1b[2K"), "the line is wiped"


def test_a_bar_that_begins_late_knows_how_far_it_is(terminal: Terminal, timers: list[Later]) -> None:
    seen = []
    with progress("mutating") as steps:
        steps(3, 10)
        timers[0].elapse()
        bar = steps.__self__._bar  # type: ignore[attr-defined]
        seen.append((bar.tasks[0].completed, bar.tasks[0].total))
        steps(9, 10)
        seen.append((bar.tasks[0].completed, bar.tasks[0].total))
    assert seen == [(3, 10), (9, 10)]


def test_a_work_that_breaks_off_takes_its_bar_along(terminal: Terminal, timers: list[Later]) -> None:
    def broken() -> None:
        with progress("sizing"):
            timers[0].elapse()
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        broken()
    assert terminal.getvalue().endswith("\x1b[2K")


def test_a_terminal_that_cannot_move_its_cursor_gets_no_bar(
    terminal: Terminal, timers: list[Later], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TERM", "dumb")
    with progress("sizing"):
        timers[0].elapse()
    assert "\x1b" not in terminal.getvalue()


SMALL = str(SPECS / "small" / "points-single.loom")
LONG = {
    "simulating faults": ("faults", SMALL),
    "comparing": ("compare", SMALL, SMALL),
    "drawing": ("draw", SMALL, "--system", "ignition", "--into", "OUT"),
    "ranking faults": ("suspect", SMALL, "--state", "idling", "--seen", "COIL dead"),
    "trying places": ("locate", SMALL, "COIL"),
    "sizing": ("size", SMALL),
    "planning the proof": ("prove", SMALL),
    "mutating": ("mutate", SMALL, "--sample", "3", "--today", "2026-01-01"),
    "checking": ("check", SMALL, "--today", "2026-01-01"),
    "making the log": ("log", SMALL, "--log", "OUT/log.md", "-o", "OUT/log.html"),
    "making the page": ("page", SMALL, "-o", "OUT/page.html", "--today", "2026-01-01"),
}


@pytest.mark.parametrize("what", LONG)
def test_long_commands_show_progress_and_print_the_same(
    what: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    command = [word.replace("OUT", str(tmp_path)) for word in LONG[what]]
    (tmp_path / "log.md").write_text("# Log\n", "utf-8")

    def run() -> Result:
        return CliRunner().invoke(main, command)

    plain = run()
    assert plain.exit_code in (0, 1), plain.output
    assert what not in plain.stderr
    monkeypatch.setattr(home, "Timer", AtOnce)
    monkeypatch.setattr(home, "is_terminal", lambda: True)
    watched = run()
    assert (watched.exit_code, watched.stdout) == (plain.exit_code, plain.stdout)
    assert what in watched.stderr


def test_what_a_work_counts_comes_to_its_whole() -> None:
    from loomwright.checks.fmea.fault_simulation import Sweep
    from loomwright.checks.fmea.report import fault_reports
    from loomwright.checks.operation.operation import Operation
    from loomwright.checks.protection.protection import Protection
    from loomwright.lang.circuit.build import build_circuit
    from loomwright.lang.files.reading import read_file

    operation = Operation(build_circuit(read_file(str(SPECS / "rebuild.loom")).harness))
    told: list[tuple[int, int]] = []
    protection = Protection(operation.circuit)
    fault_reports(Sweep(operation, protection), ("key-on", "idling"), protection, lambda *step: told.append(step))
    assert [done for done, _ in told] == list(range(1, len(told) + 1))
    assert {whole for _, whole in told} == {len(told)}


def test_files_are_counted_as_they_are_checked(monkeypatch: pytest.MonkeyPatch) -> None:
    from loomwright.render.commands import cores

    told: list[tuple[int, int]] = []

    def counted(what: str) -> object:
        from contextlib import contextmanager

        @contextmanager
        def here() -> Iterator[Callable[[int, int], None]]:
            yield lambda *step: told.append((what, *step))  # type: ignore[arg-type]

        return here()

    monkeypatch.setattr(cores, "progress", counted)
    assert cores.in_turn(lambda number: number * 2, 3, 1, "checking") == [0, 2, 4]
    assert cores.in_turn(lambda number: number * 2, 3, 2, "checking") == [0, 2, 4]
    assert told == [("checking", done, 3) for done in (1, 2, 3)] * 2
