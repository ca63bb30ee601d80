"""Mail, names and photos of a survey are readable by the owner of the folder alone."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from triage.store import originals
from triage.store.connection import FOLDERS, create_survey, open_survey

pytestmark = pytest.mark.skipif(os.name != "posix", reason="modes are a thing of POSIX systems")


def open_to_others(folder: Path) -> list[str]:
    """What of a folder anybody but its owner may read, from outside."""
    found = []
    for path in sorted(folder.iterdir()):
        if stat.S_IMODE(path.stat().st_mode) & (stat.S_IRWXG | stat.S_IRWXO):
            found.append(path.name)
    return found


def test_a_new_survey_is_its_owners(tmp_path):
    create_survey(tmp_path / "s", title="Linnet Water Survey")
    with open_survey(tmp_path / "s") as survey:
        survey.connection.execute("select * from people")
        assert open_to_others(tmp_path / "s") == []
        kept = originals.keep(survey.originals, b"x", media_type="image/jpeg")
        path = originals.path_of(survey.originals, kept)
        assert path is not None
        assert stat.S_IMODE(path.stat().st_mode) == stat.S_IRUSR


def test_an_older_survey_is_closed_when_it_is_opened(tmp_path):
    folder = tmp_path / "s"
    create_survey(folder, title="Linnet Water Survey")
    for name in (*FOLDERS, "survey.db", "survey.toml"):
        (folder / name).chmod(0o755)
    with open_survey(folder):
        assert open_to_others(folder) == []
