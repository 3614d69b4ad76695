"""``bench``: a folder with all that is made of a harness, whole, the same each time, with the revision of the file."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from bench_bike import BENCH_BIKE
from click.testing import CliRunner, Result
from outside import require_tool

from loomwright.cli import main

SPECS = Path(__file__).parents[2] / "specs"
LISTS = {f"bike-{name}.{ending}" for name in ("buy", "cut", "labels", "proof") for ending in ("pdf", "csv")}


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [*map(str, arguments)])


def words_of(file: Path) -> str:
    found = subprocess.run(
        [require_tool("pdftotext"), "-layout", file, "-"], capture_output=True, text=True, check=True
    )
    return " ".join(found.stdout.split())


@pytest.fixture
def bike(tmp_path: Path) -> Path:
    file = tmp_path / "bike.loom"
    file.write_text(BENCH_BIKE, encoding="utf-8")
    return file


def held(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.iterdir())}


def test_everything_lands_in_the_folder_and_is_told_as_it_is_made(bike: Path) -> None:
    folder = bike.parent / "bench"
    result = run("bench", bike, "--into", folder)
    assert result.exit_code == 0, result.output
    made = held(folder)
    drawn = {"bike-lay.pdf", "bike-pinouts.pdf", "bike-layout.pdf", "bike-owner.pdf", "bike-pegs.csv"}
    assert made.keys() >= LISTS | drawn
    assert result.stdout == f"{folder}: {len(made)} files\n"
    told = result.stderr.splitlines()
    assert told[0] == "buying list: bike-buy.pdf, bike-buy.csv"
    assert {name for line in told for name in line.partition(": ")[2].split(", ")} >= made.keys()
    for name, data in made.items():
        assert data.startswith(b"%PDF" if name.endswith(".pdf") else b"\xef\xbb\xbf"), name


def test_each_file_is_what_its_own_command_makes(bike: Path) -> None:
    folder = bike.parent / "bench"
    run("bench", bike, "--into", folder)
    made = held(folder)
    for name, question in {
        "bike-cut.pdf": ("cut", bike), "bike-cut.csv": ("cut", bike), "bike-lay.pdf": ("cut", bike, "--by", "loom"),
        "bike-buy.csv": ("buy", bike), "bike-labels.pdf": ("labels", bike), "bike-proof.csv": ("prove", bike),
        "bike-proof.pdf": ("prove", bike), "bike-layout.pdf": ("draw", bike, "--sheet", "layout"),
    }.items():  # fmt: skip
        alone = bike.parent / name
        assert run(*question, "-o", alone).exit_code == 0
        assert made[name] == alone.read_bytes(), name


def test_older_files_are_replaced_and_others_left_alone(bike: Path) -> None:
    folder = bike.parent / "bench"
    folder.mkdir()
    (folder / "notes.txt").write_text("mine", encoding="utf-8")
    (folder / "bike-cut.csv").write_text("old", encoding="utf-8")
    run("bench", bike, "--into", folder)
    first = held(folder)
    assert first["notes.txt"] == b"mine"
    assert b"old" not in first["bike-cut.csv"][:10]
    run("bench", bike, "--into", folder)
    assert held(folder) == first


def test_the_same_under_any_seed_of_hashes(bike: Path) -> None:
    made = []
    for seed in ("1", "2"):
        folder = bike.parent / f"seed-{seed}"
        subprocess.run(
            [sys.executable, "-m", "loomwright", "bench", bike, "--into", folder],
            check=True, capture_output=True, env={**os.environ, "PYTHONHASHSEED": seed},
        )  # fmt: skip
        made.append(held(folder))
    assert made[0] == made[1]


def test_paper_names_the_revision_that_the_file_is_of(bike: Path) -> None:
    git = [require_tool("git"), "-c", "user.name=a", "-c", "user.email=a@b", "-c", "init.defaultBranch=main"]
    for command in (["init", "-q"], ["add", "bike.loom"], ["commit", "-qm", "A motorcycle"]):
        subprocess.run([*git, *command], cwd=bike.parent, check=True, capture_output=True)
    done = subprocess.run([*git, "rev-parse", "HEAD"], cwd=bike.parent, check=True, capture_output=True, text=True)
    folder = bike.parent / "bench"
    run("bench", bike, "--into", folder)
    revision = f"git {done.stdout[:10]}"
    for name in ("bike-buy.pdf", "bike-cut.pdf", "bike-lay.pdf", "bike-proof.pdf"):
        assert "Bike: " in words_of(folder / name)
        assert revision in words_of(folder / name), name
    bike.write_text(BENCH_BIKE + "# one line more\n", encoding="utf-8")
    run("bench", bike, "--into", folder)
    assert f"{revision} + changes" in words_of(folder / "bike-cut.pdf")


def test_a_folder_that_cannot_be_written_ends_with_2(bike: Path) -> None:
    taken = bike.parent / "taken"
    taken.write_text("a file", encoding="utf-8")
    result = run("bench", bike, "--into", taken)
    assert result.exit_code == 2
    assert "cannot be written" in result.stderr
    assert taken.read_text(encoding="utf-8") == "a file"


def test_mistakes_in_the_text_make_nothing(bike: Path) -> None:
    bike.write_text(BENCH_BIKE.replace("to F.1", "to G.1"), encoding="utf-8")
    folder = bike.parent / "bench"
    assert run("bench", bike, "--into", folder).exit_code == 1
    assert not folder.exists()
