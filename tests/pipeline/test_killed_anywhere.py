"""Ten kills of each kind of work: repeated, it ends in the survey of work left in peace."""

from __future__ import annotations

from pathlib import Path

import pytest
from crashing import KINDS, Bases, crash, deed, make_bases


@pytest.fixture(scope="module")
def bases(tmp_path_factory: pytest.TempPathFactory) -> Bases:
    return make_bases(tmp_path_factory.mktemp("bases"), messages=3)


@pytest.mark.parametrize("kind", KINDS)
def test_work_killed_anywhere_and_repeated_ends_in_the_same_survey(
    kind: str, bases: Bases, tmp_path: Path
):
    done = crash(deed(kind, bases), kills=10, seed=1, place=tmp_path)
    assert (done.at_writes, done.at_random) == (5, 5)
    assert done.writes > 10
