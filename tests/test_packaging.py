"""What is built holds what is needed: every data file, and nothing that belongs to the repository alone."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import sysconfig
import tarfile
import tomllib
import venv
import zipfile
from pathlib import Path

import pytest

DATA = {".css", ".html", ".js", ".lark", ".loom", ".md", ".toml", ".txt", ".csv", ".json", ".typ", ".ttf"}
CODE_FOLDERS = ("checks", "lang", "render")
NOT_SOURCE = shutil.ignore_patterns(".*", "__pycache__", "build", "dist", "out", "*.egg-info")


def package_files(root: Path) -> set[str]:
    """Every file under the three code folders that a built distribution must hold, as a path from the root."""
    return {
        path.relative_to(root).as_posix()
        for folder in CODE_FOLDERS
        for path in (root / folder).rglob("*")
        if path.is_file() and path.suffix in DATA | {".py"} and "__pycache__" not in path.parts
    }


@pytest.fixture(scope="module")
def built(root: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path, Path]:
    """A copy of the sources, the sdist made from it, and the wheel made from that sdist."""
    room = tmp_path_factory.mktemp("built")
    source = room / "source"
    shutil.copytree(root, source, ignore=NOT_SOURCE)

    def build(what: str, folder: Path) -> Path:
        code = f"import setuptools.build_meta as b; print(b.build_{what}({str(room)!r}))"
        done = subprocess.run(
            [sys.executable, "-W", "ignore", "-c", code], cwd=folder, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stderr
        return room / done.stdout.split()[-1]

    sdist = build("sdist", source)
    with tarfile.open(sdist) as archive:
        # The filter came with Python 3.11.4; the archive is our own, made a moment ago.
        safely = {"filter": "data"} if hasattr(tarfile, "data_filter") else {}
        archive.extractall(room / "unpacked", **safely)
    (unpacked,) = (room / "unpacked").iterdir()
    return source, sdist, build("wheel", unpacked)


def test_packages_are_listed_by_name(root: Path) -> None:
    listed = tomllib.loads((root / "pyproject.toml").read_text())["tool"]["setuptools"]["packages"]
    found = {
        ".".join(("loomwright", *path.parent.relative_to(root).parts))
        for folder in CODE_FOLDERS
        for path in (root / folder).rglob("__init__.py")
    }
    assert sorted({"loomwright"} | found) == listed, "every folder with an __init__.py, sorted, in pyproject.toml"


def test_sdist_holds_the_sources_and_what_tests_them(built: tuple[Path, Path, Path]) -> None:
    source, sdist, _ = built
    with tarfile.open(sdist) as archive:
        names = {name.partition("/")[2] for name in archive.getnames()}
    wanted = package_files(source) | {"LICENSE", "CHANGELOG.md", "Makefile", "py.typed", "tests/conftest.py"}
    wanted |= {path.relative_to(source).as_posix() for path in (source / "specs").glob("*.loom")}
    assert wanted - names == set()


def test_wheel_holds_every_file_of_the_package_and_nothing_else(built: tuple[Path, Path, Path]) -> None:
    source, _, wheel = built
    with zipfile.ZipFile(wheel) as archive:
        names = {name for name in archive.namelist() if ".dist-info/" not in name}
        metadata = next(archive.read(name).decode() for name in archive.namelist() if name.endswith("/METADATA"))
    root_files = {"__init__.py", "__main__.py", "cli.py", "py.typed"}
    examples = {
        path.relative_to(source).as_posix()
        for path in (source / "specs" / "rules").glob("*/*")
        if path.name.partition(".")[0] in ("bad", "good")
    }
    assert names == {f"loomwright/{name}" for name in package_files(source) | root_files | examples}
    assert "License-Expression: MIT" in metadata
    assert "License-File: LICENSE" in metadata


def test_the_root_holds_no_other_code(root: Path) -> None:
    assert {path.name for path in root.glob("*.py")} == {"__init__.py", "__main__.py", "cli.py"}


def test_installed_wheel_works_away_from_the_sources(built: tuple[Path, Path, Path], tmp_path: Path) -> None:
    """A separate virtual environment: the wheel installed, the libraries it depends on lent by this one."""
    _, _, wheel = built
    home = tmp_path / "venv"
    venv.create(home, with_pip=False)
    scripts = home / ("Scripts" if os.name == "nt" else "bin")
    python = next(scripts.glob("python*"))
    subprocess.run(
        [sys.executable, "-m", "pip", "--python", python, "install", "--quiet", "--no-deps", "--no-index", wheel],
        check=True,
    )
    (site,) = home.rglob("site-packages")
    (site / "lent.pth").write_text(sysconfig.get_path("purelib"))

    def run(*command: str | Path) -> str:
        done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
        assert done.returncode == 0, done.stderr
        return done.stdout

    where = run(python, "-c", "import loomwright; print(loomwright.__file__)").strip()
    assert Path(where).is_relative_to(site)
    assert run(scripts / "loomwright", "--version") == run(python, "-m", "loomwright", "--version")
