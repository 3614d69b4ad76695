"""The hooks for pre-commit, run by pre-commit itself on a separate repository."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import sysconfig
from pathlib import Path

import pytest
from outside import require_tool

LEFT_OUT = shutil.ignore_patterns(".*", "__pycache__", "build", "dist", "out", "*.egg-info", "tests")
CONFIG = """\
repos:
- repo: {repository}
  rev: {revision}
  hooks:
  - id: loomwright-tidy
  - id: loomwright-check
    {arguments}
"""


class Desk:
    """A repository with a harness in it, whose hooks come from a repository made of these sources."""

    def __init__(self, root: Path, room: Path) -> None:
        require_tool("git")
        self.bike = room / "bike"
        self.hooks = room / "hooks"
        # The hook's environment installs the package alone, without a network: what it needs is lent to it.
        self.environment = {
            **{name: value for name, value in os.environ.items() if not name.startswith("GIT_")},
            "PRE_COMMIT_HOME": str(room / "home"),
            "GIT_CONFIG_GLOBAL": os.devnull,
            "GIT_CONFIG_SYSTEM": os.devnull,
            "PIP_NO_DEPS": "1",
            "PIP_NO_INDEX": "1",
            "PIP_NO_BUILD_ISOLATION": "0",  # pip's own reading of it: no isolation
            "PIP_DISABLE_PIP_VERSION_CHECK": "1",
            "PYTHONPATH": sysconfig.get_path("purelib"),
            "PRE_COMMIT_COLOR": "never",
        }
        shutil.copytree(root, self.hooks, ignore=LEFT_OUT)
        shutil.copy(root / ".pre-commit-hooks.yaml", self.hooks)
        self.revision = self.repository(self.hooks)
        self.bike.mkdir()
        self.accept_arguments("")
        self.repository(self.bike)

    def repository(self, folder: Path) -> str:
        """Makes a folder a repository and gives its one commit."""
        self.git(folder, "init", "--quiet")
        self.git(folder, "add", "--all")
        author = ("-c", "user.name=A Rider", "-c", "user.email=rider@example.org")
        self.git(folder, *author, "commit", "--quiet", "--message", "first")
        return self.git(folder, "rev-parse", "HEAD").strip()

    def git(self, folder: Path, *arguments: str) -> str:
        command = ["git", "-C", str(folder), *arguments]
        return subprocess.run(command, env=self.environment, check=True, capture_output=True, text=True).stdout

    def accept_arguments(self, arguments: str) -> None:
        text = CONFIG.format(repository=self.hooks, revision=self.revision, arguments=arguments)
        (self.bike / ".pre-commit-config.yaml").write_text(text)

    def pre_commit(self, *arguments: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-m", "pre_commit", *arguments],
            cwd=self.bike,
            env=self.environment,
            capture_output=True,
            text=True,
            encoding="utf-8",
            check=False,
        )

    def run(self) -> subprocess.CompletedProcess[str]:
        self.git(self.bike, "add", "--all")
        return self.pre_commit("run", "--all-files")


@pytest.fixture(scope="module")
def workspace(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Desk:
    return Desk(root, tmp_path_factory.mktemp("hooks"))


def test_the_manifest_is_one(root: Path) -> None:
    command = [sys.executable, "-m", "pre_commit", "validate-manifest", str(root / ".pre-commit-hooks.yaml")]
    assert subprocess.run(command, check=False).returncode == 0


def test_the_hooks_tidy_and_check(workspace: Desk, root: Path) -> None:
    """One after the other, since the environment is made once: untidy and faulty, then accepted, then fixed."""
    faulty = (root / "specs/rules/short-wire/edge-found.loom").read_text(encoding="utf-8")
    sound = (root / "specs/rules/short-wire/edge-near.loom").read_text(encoding="utf-8")
    bike = workspace.bike / "bike.loom"
    bike.write_text(faulty.replace(" to ", "  to  "), encoding="utf-8")
    (workspace.bike / "notes.txt").write_text("wire  1  is no harness\n")

    first = workspace.run()
    assert first.returncode == 1, first.stdout + first.stderr
    assert "bike.loom: tidied" in first.stdout
    assert "files were modified by this hook" in first.stdout
    assert "warning: " in first.stdout
    assert "[short-wire]" in first.stdout
    assert bike.read_text(encoding="utf-8") == faulty

    workspace.accept_arguments('args: ["bike.loom", "--fail-on", "error"]')
    milder = workspace.run()
    assert milder.returncode == 0, milder.stdout + milder.stderr

    workspace.accept_arguments("")
    bike.write_text(sound, encoding="utf-8")
    fixed = workspace.run()
    assert fixed.returncode == 0, fixed.stdout + fixed.stderr
    assert fixed.stdout.count("Passed") == 2

    bike.write_text(sound + "fuse 30A\n", encoding="utf-8")
    wrong = workspace.run()
    assert wrong.returncode == 1
    assert "not checked: fix the errors in the file first" in wrong.stdout
    assert (workspace.bike / "notes.txt").read_text() == "wire  1  is no harness\n"


def test_a_new_repository_passes_its_own_ci(workspace: Desk, tmp_path: Path) -> None:
    """What `loomwright new --repository` writes: its hooks by pre-commit, the commands of its workflow by a shell."""
    tools = Path(sys.executable).parent
    environment = workspace.environment | {"PATH": f"{tools}{os.pathsep}{os.environ['PATH']}"}

    def shell(command: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            ["sh", "-c", command], cwd=bike, env=environment, capture_output=True, text=True, check=False
        )

    bike = tmp_path
    made = shell("loomwright new my-twin --repository")
    assert made.returncode == 0, made.stderr
    bike = tmp_path / "my-twin"
    workspace.repository(bike)
    hooks = shell("python -m pre_commit run --all-files")
    assert hooks.returncode == 0, hooks.stdout + hooks.stderr
    assert hooks.stdout.count("Passed") == 2

    workflow = (bike / ".github" / "workflows" / "harness.yml").read_text(encoding="utf-8")
    commands = re.findall(r"- run: (loomwright .*)", workflow)
    assert [command.split()[1] for command in commands] == ["tidy", "check", "draw"]
    for command in commands:
        done = shell(command)
        assert (done.returncode, done.stderr) == (0, ""), command
    assert sorted(path.name for path in (bike / "out").iterdir()) == ["findings.txt", "my-twin.pdf"]
    assert shell("git status --porcelain").stdout == "", "drawings and reports are ignored"

    harness = bike / "my-twin.loom"
    harness.write_text(
        harness.read_text(encoding="utf-8").replace("fuse MAIN 15 A", "fuse MAIN 40 A"), encoding="utf-8"
    )
    assert shell(commands[1]).returncode == 1
