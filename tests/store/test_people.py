"""People under their codes: one for each address, and what stands of what they allowed."""

from __future__ import annotations

import pytest
import records_made as made
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from surveys import tried
from tests_support import NOW

from triage.errors import UnknownError
from triage.mail.consent import Consent
from triage.store import actions, consents, people
from triage.store.connection import Survey

ADDRESSES = st.lists(
    st.sampled_from(
        ["ada@example.org", "Ada@Example.org ", "bo@example.org", "BO@example.org", ""]
    ),
    max_size=8,
)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(ADDRESSES)
def test_one_address_is_one_person_whatever_its_capitals(empty: Survey, addresses):
    with tried(empty):
        rows = [people.by_address(empty, one) for one in addresses]
        keys = [one.strip().casefold() for one in addresses]
        assert all((row is None) == (key == "") for row, key in zip(rows, keys, strict=True))
        assert len({row for row in rows if row}) == len({key for key in keys if key})
        found = people.all_people(empty)
        assert sorted(one.addresses for one in found) == sorted((key,) for key in {*keys} - {""})
        assert len({one.code for one in found}) == len(found)
        assert people.codes(empty) == {one.row: one.code for one in found}


def test_a_name_is_learned_once_and_never_written_over(empty: Survey):
    row = people.by_address(empty, "ada@example.org")
    for name in ("", "Ada Finch", "Somebody Else", ""):
        assert people.by_address(empty, "ada@example.org", name=name) == row
    [ada] = people.all_people(empty)
    assert ada.name == "Ada Finch"
    [known] = people.known(empty)
    assert (known.row, known.name, known.addresses) == (row, "Ada Finch", ("ada@example.org",))


@pytest.mark.parametrize("typed", ["ada@example.org", " ADA@example.org", "code"])
def test_a_person_is_found_by_address_or_code(empty: Survey, typed: str):
    row = people.by_address(empty, "ada@example.org")
    code = people.codes(empty)[row or 0]
    assert people.find(empty, code.lower() if typed == "code" else typed).row == row


@pytest.mark.parametrize("typed", ["", "ada", "P-00000000", "nobody@example.org"])
def test_nobody_is_found_by_anything_else(empty: Survey, typed: str):
    people.by_address(empty, "ada@example.org")
    with pytest.raises(UnknownError, match="nobody here"):
        people.find(empty, typed)


SAID = [
    # what was said, in order, each seen or not; what stands of publishing and of the name
    ([], "unstated", False),
    ([Consent(publish="no", wording="no")], "no", False),
    ([Consent(publish="yes", wording="yes")], "unstated", False),
    ([Consent(publish="yes", wording="yes"), "seen"], "yes", False),
    ([Consent(publish="yes", name_shown="yes", wording="yes"), "seen"], "yes", True),
    (
        [Consent(publish="yes", wording="yes"), "seen", Consent(publish="no", wording="no")],
        "no",
        False,
    ),
]


@pytest.mark.parametrize(("said", "publish", "name_public"), SAID)
def test_a_grant_counts_once_it_was_seen_and_a_refusal_at_once(
    empty: Survey, said, publish: str, name_public: bool
):
    row = people.by_address(empty, "ada@example.org") or 0
    for number, one in enumerate(said):
        if one == "seen":
            action = actions.record(empty, "consent", "x", by="Bo", now=NOW)
            consents.see(empty, row, action=action)
            continue
        sent = f"2026-07-0{number + 1}T10:00:00+02:00"
        mail = made.message(empty, number, sender_id=row, sent_at=sent)
        consents.add(empty, row, one, message=mail)
    [ada] = people.all_people(empty)
    assert (ada.publish, ada.name_public) == (publish, name_public)


def test_what_was_noted_of_a_person_counts_while_its_action_holds(empty: Survey):
    row = people.by_address(empty, "ada@example.org") or 0
    with actions.acting(empty, "consent", "x", by="Bo", now=NOW) as action:
        said = Consent(publish="no", wording="no")
        consents.add(empty, row, said, answers=True, action=action)
    assert [one.publish for one in people.all_people(empty)] == ["no"]
    actions.undo(empty, by="Bo", now=NOW)
    assert [one.publish for one in people.all_people(empty)] == ["unstated"]


def test_short_names_stand_beside_addresses_and_the_newest_holder_has_them(empty: Survey):
    ada, bo = (
        people.by_address(empty, f"{one}@example.org", name=one) or 0 for one in ("Ada", "Bo")
    )
    assert people.add_short_name(empty, "A", ada)
    assert people.add_short_name(empty, "A", ada) == []
    assert people.add_short_name(empty, "A", bo)
    assert {one.row: one.short_names for one in people.known(empty)} == {ada: (), bo: ("A",)}


def test_mails_of_a_person_are_those_sent_and_those_passed_on(empty: Survey):
    ada, bo = (people.by_address(empty, f"{one}@example.org") or 0 for one in ("ada", "bo"))
    own, passed_on, other = (
        made.message(empty, n, sender_id=s) for n, s in enumerate([ada, bo, bo])
    )
    for message, number, person in ((passed_on, 0, bo), (passed_on, 1, ada), (other, 0, bo)):
        empty.connection.execute(
            "insert into envelopes values (?, ?, ?, null, '', '', '')", (message, number, person)
        )
    assert sorted(people.mails_of(empty, ada)) == [own, passed_on]
    assert sorted(people.mails_of(empty, bo)) == [passed_on, other]
