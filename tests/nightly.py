"""What is tried at length with seeds that nobody chose: ``make nightly``, or ``python tests/nightly.py [PART ...]``.

Every part runs, whatever the ones before found; at the end each is reported with its outcome, and the exit status is 1
where one failed. The seed is printed first: ``LOOMWRIGHT_SEED=N`` repeats a night. A part
whose script is missing counts as not tried, never as passed.
"""

from __future__ import annotations

import argparse
import os
import secrets
import subprocess
import sys
from pathlib import Path

TESTS = Path(__file__).resolve().parent
BENCH = TESTS / "bench"
SAMPLED = ("checks/diagnosis", "end_to_end/test_determinism.py", "lang/editing/test_formatter.py")
"""Tests that by day take some of their cases."""
WALKS = 1000
SPICE = 500
FUZZ = 1_000_000
FAULTS = 200
PROOFS = 500
NETWORKS = 200
TYPOS = 1000
EDITS = 2000
CHECKED = 20_000
COMMANDS = 1000


def parts(seed: int) -> dict[str, list[str]]:
    """The command lines, by name."""
    python, first = sys.executable, str(seed)
    return {
        "properties": [python, "-m", "pytest", "-n", "2", str(TESTS / "property"), str(TESTS / "reference"),
                       f"--hypothesis-seed={seed}"],
        "all-cases": [python, "-m", "pytest", "-n", "2", *(str(TESTS / name) for name in SAMPLED)],
        "walks": [python, str(BENCH / "walks.py"), str(WALKS), "--first", first],
        "ngspice": [python, str(BENCH / "walks.py"), str(SPICE), "--first", first, "--steps", "15", "--ngspice"],
        "suspect": [python, str(BENCH / "suspects.py"), str(FAULTS), "--first", first],
        "windings": [python, str(BENCH / "windings.py"), str(NETWORKS), "--first", first],
        "proving": [python, str(BENCH / "proving.py"), str(PROOFS), "--first", first],
        "fuzz": [python, str(BENCH / "fuzz.py"), str(FUZZ), "--reading", "--first", first],
        "fuzz-by-reach": [python, str(BENCH / "fuzz.py"), str(CHECKED), "--atheris"],
        "fuzz-commands": [python, str(BENCH / "fuzz_commands.py"), str(COMMANDS), "--first", first],
        "edits": [python, str(TESTS / "random_edits.py"), str(EDITS), "--first", first],
        "typos": [python, str(TESTS / "typos.py"), str(TYPOS), "--first", first],
        "faults": [python, str(TESTS / "noticed_faults.py")],
        "mutants-of-rules": [python, str(TESTS / "mutants" / "run.py"), "rules"],
        "mutants-of-analyses": [python, str(TESTS / "mutants" / "run.py"), "analyses", "--sample", "600",
                                "--seed", first],
        "rounding": [python, str(TESTS / "rounding_noise.py")],
        "interpreters": [python, str(TESTS / "interpreters.py")],
    }  # fmt: skip


def outcome(command: list[str], environment: dict[str, str]) -> str:
    script = Path(command[1])
    if script.suffix == ".py" and not script.exists():
        return f"not tried: there is no {script.relative_to(TESTS.parent)} yet"
    done = subprocess.run(command, cwd=TESTS.parent, env=environment, check=False)
    return "passed" if done.returncode == 0 else f"failed, exit status {done.returncode}"


def main() -> int:
    seed = int(os.environ.get("LOOMWRIGHT_SEED") or secrets.randbelow(10**9))
    known = parts(seed)
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("parts", nargs="*", metavar="PART", help=f"some of {', '.join(known)}; all where none is named")
    chosen = parser.parse_args().parts or list(known)
    if unknown := [name for name in chosen if name not in known]:
        parser.error(f"{', '.join(unknown)}: expected some of {', '.join(known)}")
    print(f"LOOMWRIGHT_SEED={seed} repeats this night", flush=True)
    # The fixed set of CI is not what is wanted here, so LOOMWRIGHT_CI must not choose it.
    environment = {name: value for name, value in os.environ.items() if name != "LOOMWRIGHT_CI"}
    environment |= {"LOOMWRIGHT_HYPOTHESIS": "thorough", "LOOMWRIGHT_SEED": str(seed)}
    told = {}
    for name in chosen:
        print(f"== {name}: {' '.join(known[name])}", flush=True)
        told[name] = outcome(known[name], environment)
    print("== The night")
    for name, how in told.items():
        print(f"  {name:14} {how}")
    print(f"  LOOMWRIGHT_SEED={seed}")
    return int(any(how.startswith("failed") for how in told.values()))


if __name__ == "__main__":
    sys.exit(main())
