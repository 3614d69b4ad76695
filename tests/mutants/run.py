"""Which mutants of rules and analyses the tests kill.

::

    python tests/mutants/run.py rules [RULE]... [--jobs 2]
    python tests/mutants/run.py analyses [MODULE]... [--sample 400] [--seed 1] [--from 69] [--jobs 2]

A mutant of a rule is killed by the harnesses of that rule (``specs/rules/<rule>/``); one of an analysis by the
harnesses of all rules that reach its line, then by the tests of its module. Survivors are printed; those that
``survivors.toml`` gives a reason for are marked. Exits with 1 where fewer are killed than the goal. A run that was
stopped goes on with ``--from``: the number after the last that its progress, on standard error, counts as judged.
"""

from __future__ import annotations

import argparse
import ast
import importlib.machinery
import importlib.util
import io
import os
import random
import resource
import signal
import sys
import tomllib
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from enum import IntEnum
from functools import cache
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
sys.path[:0] = [str(HERE), str(HERE.parent)]

from mutations import Mutant, mutants  # noqa: E402

GOALS = {"rules": 0.85, "analyses": 0.80}
ANALYSES = (
    "checks/logic", "checks/dc", "checks/behaviour", "checks/operation", "checks/protection",
    "checks/fmea", "checks/diagnosis", "checks/conductors", "checks/conversion", "checks/survey", "checks/bench",
    "checks/causes", "checks/ac", "checks/meter", "lang/circuit",
)  # fmt: skip
BESIDES = {
    "checks/ac": ("trials/test_stand", "checks/ac/test_*", "reference/test_windings_against_ngspice"),
    "checks/behaviour": ("checks/behaviour/test_*", "trials/test_lamps", "trials/test_joins", "trials/test_stops_*"),
    "checks/bench": ("checks/bench/test_*", "end_to_end/test_bench_*", "end_to_end/test_draw_sheets"),
    "checks/bench/proving": ("checks/bench/proving/test_*", "end_to_end/test_prove_command"),
    "checks/causes": ("checks/causes/test_*",),
    "checks/conductors": ("trials/test_protection", "trials/test_worst", "reference/test_sizing_by_hand"),
    "checks/conversion": ("checks/conversion/test_*", "end_to_end/test_[cst]o[mr]*_command", "end_to_end/test_tags_*"),
    "checks/dc": ("checks/dc/test_*", "reference/test_against_ngspice", "trials/test_duty", "trials/test_stops_*"),
    "checks/diagnosis": ("checks/diagnosis/test_*", "render/report/test_diagnosis", "trials/test_told_states"),
    "checks/fmea": (
        "checks/fmea/test_*",
        "trials/test_single_faults",
        "render/report/test_faults",
        "property/test_faults_together",
    ),
    "checks/logic": (
        "checks/logic/test_*",
        "trials/test_stops_*",
        "property/test_every_combination",
        "trials/test_unit_memory",
    ),
    "checks/meter": ("checks/meter/test_*", "checks/bench/proving/test_at_rest"),
    "checks/operation": (
        "checks/operation/test_*",
        "checks/rules/test_hard_start",
        "trials/test_duty",
        "trials/test_holds",
        "trials/test_named_states",
        "trials/test_worst",
    ),
    "checks/protection": (
        "checks/protection/test_*",
        "trials/test_single_faults",
        "trials/test_protection",
        "property/test_exposures",
    ),
    "checks/survey": ("checks/survey/test_*", "end_to_end/test_identify_command"),
    "lang/circuit": ("lang/circuit/test_*", "trials/test_duty", "trials/test_excitation"),
}
"""Tests that ask each folder's modules besides those that mirror a module: they are tried last."""

CPU_SECONDS = 60
"""What a mutant may take; one that takes longer goes round in a circle and counts as killed."""

TESTS_SECONDS = 300
"""What the tests of its module may take in addition."""

MOST_HARNESSES = 25
"""This many of the harnesses that reach a line are tried before the module's own tests."""


@dataclass(frozen=True, slots=True)
class Trial:
    module: str
    file: Path
    mutant: Mutant

    @property
    def key(self) -> tuple[str, str, str]:
        return (self.file.relative_to(ROOT).as_posix(), self.mutant.was, self.mutant.now)


class _Mutated(importlib.machinery.SourceFileLoader):
    tree: ast.Module

    def get_code(self, fullname: str) -> object:  # type: ignore[override]
        return compile(self.tree, self.path, "exec")


class _Finder:
    """Gives the mutant where its module is asked for."""

    def __init__(self, trial: Trial) -> None:
        self.trial = trial

    def find_spec(self, name: str, path: object = None, target: object = None) -> object:
        if name != self.trial.module:
            return None
        loader = _Mutated(name, str(self.trial.file))
        loader.tree = self.trial.mutant.make()
        return importlib.util.spec_from_file_location(name, self.trial.file, loader=loader)


class UntriedError(Exception):
    """A mutant could not be tried at all, which says nothing of it."""


class Fate(IntEnum):
    """What became of a mutant, as the exit status of the process that tried it."""

    NOTICED = 0
    ALIVE = 3
    UNTRIED = 4
    FAILED_TESTS = 5


def is_killed(trial: Trial, kill: Callable[[Trial], bool | Fate]) -> bool:
    """Whether a mutant is killed, in a separate process. ``kill`` tells whether something was noticed. Raises
    ``UntriedError`` where that could not be looked at, or its tests fail without any change, too.
    """
    fate = _apart(lambda: kill(trial), _Finder(trial))
    if fate is Fate.FAILED_TESTS and not _passes(tuple(judges_of(trial.file))):
        fate = Fate.UNTRIED
    if fate is Fate.UNTRIED:
        raise UntriedError(f"{trial.file.relative_to(ROOT)}:{trial.mutant.line}: its tests do not run, or fail anyhow")
    return fate is not Fate.ALIVE


@cache
def _passes(tests: tuple[Path, ...]) -> bool:
    """Whether some tests pass with nothing changed."""
    return _apart(lambda: killed_by_tests(tests)) is Fate.ALIVE


def _apart(noticed: Callable[[], bool | Fate], finder: _Finder | None = None) -> Fate:
    """What something notices in a separate process, which prints nothing."""
    child = os.fork()
    if child == 0:
        code = Fate.UNTRIED
        try:
            _at_most(CPU_SECONDS)
            sys.stdout = sys.stderr = io.StringIO()
            null = os.open(os.devnull, os.O_WRONLY)
            os.dup2(null, 1)
            os.dup2(null, 2)
            if finder is not None:
                sys.meta_path.insert(0, finder)  # type: ignore[arg-type]
            found = noticed()
            code = found if isinstance(found, Fate) else Fate.NOTICED if found else Fate.ALIVE
        except UntriedError:
            code = Fate.UNTRIED
        except BaseException:  # noqa: BLE001  whatever a mutant does, it was noticed
            code = Fate.NOTICED
        finally:
            os._exit(code)
    _, status = os.waitpid(child, 0)
    code = os.WEXITSTATUS(status) if os.WIFEXITED(status) else Fate.NOTICED
    return Fate(code) if code in set(Fate) else Fate.NOTICED


def _at_most(seconds: int) -> None:
    """Ends this process once it has had this much of the processor."""
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, resource.RLIM_INFINITY))


def _own(text: str) -> str:
    """What a rule itself says in a text of ``specs/rules``."""
    return text.partition("besides:\n")[0]


def killed_by_harnesses(paths: Iterable[Path]) -> bool:
    """Whether one of some harnesses is reported otherwise than what is beside it."""
    import golden_findings as golden

    return any(golden.printed(path) != path.with_suffix(".txt").read_text("utf-8") for path in paths)


def of_rule(file: Path) -> tuple[Path, ...]:
    """The harnesses of a rule that have a text beside them, those that it finds something in first."""
    rule = file.stem.replace("_", "-")
    texts = sorted((ROOT / "specs/rules" / rule).glob("*.txt"), key=lambda path: (path.stat().st_size == 0, path))
    return tuple(path.with_suffix(".loom") for path in texts)


def _others_silent(rule: str) -> None:
    """Lets one rule alone find something, for the rest of this process; the others are still known by name, so that a
    waiver for one of them stays no mistake. What judges the findings of the others hears them.
    """
    from loomwright.checks.runner import run as runner

    runner.catalogue.cache_clear()
    rules = runner.catalogue()
    if not any(each.name == rule and each.needs_all for each in rules):
        rules = tuple(each if each.name == rule else replace(each, find=_nothing) for each in rules)
    _rules_are(lambda: rules)


def _rules_are(rules: Callable[[], tuple[object, ...]]) -> None:
    from loomwright.checks.runner import run as runner

    runner.catalogue = rules  # type: ignore[assignment]
    runner._by_name.cache_clear()  # it was made of the rules before


def _nothing(*_asked: object) -> tuple[()]:
    return ()


def said_alone(rule: str, paths: Iterable[Path]) -> dict[Path, str]:
    """What a rule by itself says of some harnesses: without the findings of others that explain its own."""
    import golden_findings as golden

    _others_silent(rule)
    return {path: _own(golden.printed(path)) for path in paths}


def kill_rule(said: dict[Path, dict[Path, str]]) -> Callable[[Trial], bool]:
    """``said``: for each rule's file what it says of each of its harnesses while it is whole. Where it says the same by
    itself, all rules are asked: what it says may follow from what another one finds, or explain it.
    """

    def kill(trial: Trial) -> bool:
        import golden_findings as golden

        from loomwright.checks.runner import run as runner

        whole = runner.catalogue
        sys.modules.pop(trial.module, None)
        _others_silent(trial.file.stem.replace("_", "-"))
        if any(_own(golden.printed(path)) != text for path, text in said[trial.file].items()):
            return True
        _rules_are(whole)
        return killed_by_harnesses(said[trial.file])

    return kill


def said_by_rules(files: Iterable[Path]) -> dict[Path, dict[Path, str]]:
    """For ``kill_rule``. What this imports, the processes of all mutants share: all but the mutant itself."""
    from loomwright.checks.runner import run as runner

    whole = runner.catalogue
    said = {}
    for file in files:
        said[file] = said_alone(file.stem.replace("_", "-"), of_rule(file))
        _rules_are(whole)
    return said


def kill_analysis(reaching: dict[tuple[str, int], list[Path]]) -> Callable[[Trial], bool | Fate]:
    def kill(trial: Trial) -> bool | Fate:
        paths = reaching.get((trial.file.as_posix(), trial.mutant.line), [])
        if killed_by_harnesses(paths[:MOST_HARNESSES]):
            return True
        return Fate.FAILED_TESTS if killed_by_tests(judges_of(trial.file)) else Fate.ALIVE

    return kill


def killed_by_tests(tests: Sequence[Path]) -> bool:
    """Whether some tests fail in this process, which has imported none of what they test. Raises ``UntriedError`` where
    pytest itself does not work.
    """
    if not tests:
        return False
    import pytest

    _at_most(CPU_SECONDS + TESTS_SECONDS)
    # What this process has imported already cannot be rewritten by pytest, and need not be.
    quiet = ("-p", "no:cacheprovider", "-p", "no:xdist", "-W", "ignore::pytest.PytestAssertRewriteWarning")
    try:
        ended = pytest.main(["-x", "-q", *quiet, *map(str, tests)])
    except Exception as wrong:
        raise UntriedError from wrong
    if ended not in (pytest.ExitCode.OK, pytest.ExitCode.TESTS_FAILED, pytest.ExitCode.INTERRUPTED):
        raise UntriedError(str(ended))
    return ended != pytest.ExitCode.OK


def judges_of(file: Path) -> list[Path]:
    """The tests that mirror a module, then those that ask its folder."""
    inside = file.relative_to(ROOT)
    own = ROOT / "tests" / inside.parent / f"test_{inside.name}"
    besides = [path for name in BESIDES[inside.parent.as_posix()] for path in (ROOT / "tests").glob(f"{name}.py")]
    return list(dict.fromkeys([*([own] if own.is_file() else []), *sorted(besides)]))


def reached_lines(files: Sequence[Path]) -> dict[tuple[str, int], list[Path]]:
    """For each line of some modules the harnesses that reach it, quickest first."""
    import coverage
    import golden_findings as golden

    measured = coverage.Coverage(data_file=None, include=[str(file) for file in files])
    measured.start()
    for path in golden.harnesses():
        if path.with_suffix(".txt").exists():
            measured.switch_context(str(path))
            golden.printed(path)
    measured.stop()
    found: dict[tuple[str, int], list[Path]] = {}
    data = measured.get_data()
    for file in data.measured_files():
        for line, contexts in data.contexts_by_lineno(file).items():
            paths = [Path(context) for context in contexts if context]
            found[file, line] = sorted(paths, key=lambda path: (path.stat().st_size, path))
    return found


def modules(kind: str, names: Sequence[str]) -> list[Path]:
    """The modules to mutate."""
    roots = ["checks/rules"] if kind == "rules" else list(ANALYSES)
    files = [f for root in roots for f in sorted((ROOT / root).rglob("*.py")) if f.name != "__init__.py"]
    wanted = {name.replace("-", "_").removesuffix(".py") for name in names}
    return [f for f in files if not wanted or f.stem in wanted or f.parent.name in wanted]


def trials(files: Iterable[Path]) -> list[Trial]:
    return [
        Trial(".".join(("loomwright", *file.relative_to(ROOT).with_suffix("").parts)), file, mutant)
        for file in files
        for mutant in mutants(file.read_text("utf-8"))
    ]


def reasons() -> dict[tuple[str, str, str], str]:
    """Why a survivor is let live: ``survivors.toml``."""
    path = HERE / "survivors.toml"
    rows = tomllib.loads(path.read_text("utf-8")).get("survivor", []) if path.exists() else []
    return {(row["file"], row["was"], row["now"]): row["why"] for row in rows}


def main(arguments: Sequence[str]) -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("kind", choices=sorted(GOALS))
    parser.add_argument("names", nargs="*")
    parser.add_argument("--sample", type=int, default=0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--from", dest="first", type=int, default=1, metavar="N")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    given = parser.parse_args(arguments)
    files = modules(given.kind, given.names)
    every = trials(files)
    if given.sample and given.sample < len(every):
        every = sorted(random.Random(given.seed).sample(every, given.sample), key=lambda t: (t.file, t.mutant.line))
    every = every[given.first - 1 :]
    _warm_up()
    if given.kind == "analyses":
        child_reads, child_writes = os.pipe()
        kill = kill_analysis(_measured_apart(sorted({trial.file for trial in every}), child_reads, child_writes))
    else:
        kill = kill_rule(said_by_rules(files))
    known = reasons()
    dead = excused = 0
    with ThreadPoolExecutor(given.jobs) as pool:
        fates = pool.map(lambda trial: _outcome(trial, kill), every)
        for number, (trial, fate) in enumerate(zip(every, fates, strict=True), start=given.first):
            print(f"{number} judged", file=sys.stderr, flush=True)
            dead += not fate
            if not fate:
                continue
            why = known.get(trial.key, "") if fate == "alive" else fate
            excused += fate == "alive" and bool(why)
            where = f"{trial.file.relative_to(ROOT)}:{trial.mutant.line}"
            print(f"[{number}] {where}: {trial.mutant}{f'  ({why})' if why else ''}", flush=True)
    share = dead / len(every) if every else 1.0
    print(f"{given.kind}: {dead} of {len(every)} mutants killed, {share:.1%}; {excused} survivors have a reason")
    return 0 if share >= GOALS[given.kind] else 1


def _outcome(trial: Trial, kill: Callable[[Trial], bool | Fate]) -> str:
    """Empty where a mutant is killed; else ``alive``, or why it could not be tried, which counts as not killed."""
    try:
        return "" if is_killed(trial, kill) else "alive"
    except UntriedError as error:
        return str(error)


def _measured_apart(files: Sequence[Path], reads: int, writes: int) -> dict[tuple[str, int], list[Path]]:
    """``reached_lines`` in a separate process, so that this one has not yet imported what is to be mutated."""
    import pickle

    child = os.fork()
    if child == 0:
        os.close(reads)
        with os.fdopen(writes, "wb") as pipe:
            pickle.dump(reached_lines(files), pipe)
        os._exit(0)
    os.close(writes)
    with os.fdopen(reads, "rb") as pipe:
        found: dict[tuple[str, int], list[Path]] = pickle.load(pipe)
    os.waitpid(child, 0)
    return found


def _warm_up() -> None:
    """What no mutant touches, imported once for all."""
    import importlib

    for name in ("click", "lark", "numpy", "numpy.linalg", "pytest", "rich.console", "rich.table", "hypothesis"):
        importlib.import_module(name)
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    signal.signal(signal.SIGINT, signal.default_int_handler)


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))
