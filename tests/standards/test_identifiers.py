"""What a person types for an identifier: first digits, and never a row's number."""

import pytest

from triage.errors import UnknownError
from triage.standards.identifiers import beginnings, the_one


@pytest.mark.parametrize("typed", ["", "2", "17", "3fa9", " 12345 "])
def test_what_may_be_a_row_s_number_names_nothing(typed: str):
    with pytest.raises(UnknownError, match="at least 6 digits"):
        beginnings(typed, "'triage inbox'")


def test_six_digits_hold_every_identifier_that_begins_so():
    first, last = beginnings(" 3FA91C", "'triage inbox'")
    for whole in ("3fa91c", "3fa91c0000", "3fa91cffff"):
        assert first <= whole <= last
    for other in ("3fa91b", "3fa91bffff", "3fa91d"):
        assert not first <= other <= last


def test_one_record_that_begins_with_the_digits_is_meant():
    assert the_one(["3fa91c00"], "photo", "3fa91c", "'triage photos'") == "3fa91c00"


@pytest.mark.parametrize(
    ("found", "what"),
    [
        ([], "there is no such photo"),
        (["3fa91c00", "3fa91c01"], "several photos begin like that"),
    ],
)
def test_none_and_several_are_refused_with_where_to_look(found: list[str], what: str):
    with pytest.raises(UnknownError) as refused:
        the_one(found, "photo", "3fa91c", "'triage photos'")
    assert (refused.value.what, refused.value.failing) == (what, "3fa91c")
    assert "'triage photos'" in refused.value.next_step
