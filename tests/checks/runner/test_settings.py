"""Settings of a folder: where they are looked for, what they may say, and what is refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from loomwright.checks.findings.finding import Level
from loomwright.checks.runner.settings import Settings, SettingsError, settings_in, settings_of


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A working tree with a folder of bikes; the commands are started in its root."""
    (tmp_path / "shop" / ".git").mkdir(parents=True)
    (tmp_path / "shop" / "bikes" / "old").mkdir(parents=True)
    monkeypatch.chdir(tmp_path / "shop")
    return tmp_path / "shop"


def test_nothing_is_stated(shop: Path) -> None:
    assert settings_of("bikes/bike.loom") == Settings()
    assert settings_of("<stdin>") == Settings()


def test_all_that_settings_say(shop: Path) -> None:
    (shop / "loomwright.toml").write_text(
        'profile = "small-craft"\nfail-on = "error"\naccepted = "known.json"\n'
        'own-rules = ["rules/a.py", "rules/b.py"]\n'
    )
    found = settings_of("bikes/bike.loom")
    assert found.file == "loomwright.toml"
    assert found.profile is not None
    assert found.profile.title == "small craft"
    assert (found.fail_on, found.accepted) == (Level.ERROR, "known.json")
    assert found.own_rules == ("rules/a.py", "rules/b.py")
    assert found.rules_span is not None
    assert (found.rules_span.file, found.rules_span.line) == ("loomwright.toml", 4)


def test_names_are_seen_from_where_one_stands(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (shop / "loomwright.toml").write_text('accepted = "known.json"\n')
    monkeypatch.chdir(shop / "bikes")
    assert settings_of("bike.loom").accepted == "../known.json"
    assert settings_of("bike.loom").file == "../loomwright.toml"


def test_the_nearest_file_counts_and_the_tools_own_before_the_shared_one(shop: Path) -> None:
    (shop / "pyproject.toml").write_text('[tool.loomwright]\nfail-on = "note"\n')
    assert settings_of("bikes/bike.loom").fail_on is Level.NOTE
    (shop / "loomwright.toml").write_text('fail-on = "error"\n')
    assert settings_in(shop / "bikes").fail_on is Level.ERROR


@pytest.mark.parametrize("name", ["loomwright.toml", "pyproject.toml"])
def test_a_nearer_folder_comes_first(shop: Path, name: str) -> None:
    table = "[tool.loomwright]\n" if name == "pyproject.toml" else ""
    (shop / "loomwright.toml").write_text('fail-on = "error"\n')
    (shop / "bikes" / name).write_text(f'{table}fail-on = "note"\n')
    assert settings_of("bikes/old/bike.loom").fail_on is Level.NOTE
    assert settings_of("bike.loom").fail_on is Level.ERROR


def test_a_shared_file_that_says_nothing_is_passed_over(shop: Path) -> None:
    (shop / "loomwright.toml").write_text('fail-on = "error"\n')
    (shop / "bikes" / "pyproject.toml").write_text('[project]\nname = "bikes"\n')
    assert settings_of("bikes/bike.loom").fail_on is Level.ERROR


def test_nothing_above_the_working_tree_is_read(shop: Path) -> None:
    (shop.parent / "loomwright.toml").write_text('fail-on = "error"\n')
    assert settings_of("bikes/bike.loom") == Settings()


def test_without_version_control_nothing_above_where_one_stands(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "here" / "bikes").mkdir(parents=True)
    (tmp_path / "there").mkdir()
    for folder in (tmp_path, tmp_path / "there"):
        (folder / "loomwright.toml").write_text('fail-on = "error"\n')
    monkeypatch.chdir(tmp_path / "here")
    assert settings_of("bikes/bike.loom") == Settings()
    assert settings_of("../there/bike.loom").fail_on is Level.ERROR, "a harness elsewhere: its own folder, no more"
    (tmp_path / "here" / "loomwright.toml").write_text('fail-on = "note"\n')
    assert settings_of("bikes/bike.loom").fail_on is Level.NOTE


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('profil = "boat-law"\n', "no setting is named `profil`; there are profile, fail-on, accepted, own-rules"),
        ('profil = "boat-law"\n', "the nearest is `profile`"),
        ("own_rules = []\n", "the nearest is `own-rules`"),
        ('profile = "boat-low"\n', "'boat-low' is none of boat-law"),
        ("profile = 3\n", "profile: expected one of boat-law"),
        ('profile = "gone.toml"\n', "gone.toml cannot be read"),
        ('profile = "../limits.toml"\n', "expected a file in the folder of the settings"),
        ('fail-on = "errors"\n', "fail-on: expected one of error, warning, note, found 'errors'"),
        ("fail-on = true\n", "fail-on: expected one of error"),
        ("accepted = []\n", "accepted: expected the name of a list"),
        ('accepted = "/etc/known.json"\n', "expected a file in the folder"),
        ('own-rules = "rules"\n', "names of Python files"),
        ("own-rules = [1]\n", "names of Python files"),
        ('own-rules = ["../evil.py"]\n', "expected a file in the folder"),
        ("fail-on = \n", "is not TOML"),
    ],
)
def test_what_is_refused(shop: Path, text: str, said: str) -> None:
    (shop / "loomwright.toml").write_text(text)
    with pytest.raises(SettingsError, match=r"loomwright\.toml") as error:
        settings_in(shop)
    assert said in str(error.value)
    assert str(shop) not in str(error.value), "no path of a machine"


def test_a_table_that_is_none(shop: Path) -> None:
    (shop / "pyproject.toml").write_text('[tool]\nloomwright = "strict"\n')
    with pytest.raises(SettingsError, match=r"expected a table \[tool.loomwright\]"):
        settings_in(shop)


def test_settings_that_are_no_utf_8(shop: Path) -> None:
    (shop / "loomwright.toml").write_bytes(b'profile = "\xff"\n')
    with pytest.raises(SettingsError, match="not UTF-8"):
        settings_in(shop)


def test_a_link_out_of_the_tree_is_not_followed(shop: Path) -> None:
    (shop.parent / "outside.py").write_text("")
    (shop / "rules.py").symlink_to(shop.parent / "outside.py")
    (shop / "loomwright.toml").write_text('own-rules = ["rules.py"]\n')
    with pytest.raises(SettingsError, match="expected a file in the folder"):
        settings_in(shop)
