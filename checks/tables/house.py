"""Whose limits a harness is judged by: those that the user names, else those of its house."""

from __future__ import annotations

import os
from pathlib import Path
from typing import TYPE_CHECKING

from .profiles import DEFAULT, Profile, profile_in, profile_named
from .sourced import Cited, Source, TableError

if TYPE_CHECKING:
    from ...lang.model.harness import Harness
    from ...lang.model.statements import HouseProfile


def profile_of(harness: Harness, named: Profile | str | None = None, otherwise: Profile | str = DEFAULT) -> Profile:
    """The limits to judge a harness by: the profile ``named`` as it is, else the shop's with its own drop.

    ``otherwise`` is the profile where the shop names none. Raises ``ValueError`` for a profile that there is not, or
    whose file cannot be used.
    """
    if named is not None:
        return profile_named(named) if isinstance(named, str) else named
    house = harness.house
    if house.profile is not None:
        profile = stated_profile(harness, house.profile)
    else:
        profile = profile_named(otherwise) if isinstance(otherwise, str) else otherwise
    if house.drop is None:
        return profile
    cited = Cited(
        Source("this shop's limit", "", f"{house.drop.span.file}:{house.drop.span.line}", ""), "as the text says"
    )
    kept = tuple((name, source) for name, source in profile.cited if name != "volt_share")
    return profile._replace(volt_share=1.0 - house.drop.share, cited=(*kept, ("volt_share", cited)))


def stated_profile(harness: Harness, stated: HouseProfile) -> Profile:
    """The profile that a house names. Raises ``TableError`` where its file cannot be used."""
    if not stated.is_file:
        return profile_named(stated.name)
    path = Path(os.path.normpath(Path(stated.span.file).parent / stated.name))
    root = Path(os.path.realpath(Path(harness.file).parent))
    if Path(stated.name).is_absolute() or not Path(os.path.realpath(path)).is_relative_to(root):
        raise TableError("it is outside the folder of the harness that is checked")
    if not path.is_file():
        raise TableError("there is no such file")
    return profile_in(path)
