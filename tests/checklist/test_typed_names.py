"""Names as experts type them, kept with what must come of each: right, or refused, never wrong."""

from pathlib import Path

import pytest

from triage.checklist import Checklist, read_checklist, read_name

DATA = Path(__file__).parents[1] / "data"
LINES = (DATA / "typed_names.txt").read_text(encoding="utf-8").splitlines()
TYPED = [tuple(one.rsplit(" => ", 1)) for one in LINES if one and not one.startswith("#")]
SEXES = {"F": "female", "M": "male", "MF": "male and female"}


@pytest.fixture(scope="module")
def listed() -> Checklist:
    taxa, refused = read_checklist(DATA / "typed_names_checklist.csv")
    assert refused == []
    return Checklist(taxa)


@pytest.mark.parametrize(("typed", "expected"), TYPED)
def test_a_typed_name_is_read_as_it_was_meant_or_refused(listed, typed, expected):
    found = read_name(typed.replace("\\n", "\n"), listed)
    if found.taxon is None:
        assert found.problem
        assert found.next_step
        return
    words = expected.split()
    sexes = "".join(one for one in words if one in SEXES)
    name = " ".join(one for one in words if one not in SEXES and one != "?")
    assert (found.scientific_name, found.sex) == (name, SEXES.get(sexes, ""))
    # Of two names the one that they share stands without doubt; both are kept in words.
    assert bool(found.qualifier or found.alternatives) is ("?" in words)


def test_most_names_that_can_be_read_are_read(listed):
    readable = [typed.replace("\\n", "\n") for typed, expected in TYPED if expected != "refuse"]
    refused = [typed for typed in readable if read_name(typed, listed).taxon is None]
    assert len(refused) <= len(readable) // 20, refused
