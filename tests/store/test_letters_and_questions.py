"""Questions, letters and packets: each holds while its action does, and answers find their way."""

from __future__ import annotations

import pytest
import records_made as made
from tests_support import NOW

from triage.replies.due import LetterRow
from triage.store import actions, letters, messages, packets, people, questions
from triage.store.connection import Survey


def act(survey: Survey, command: str = "settle") -> int:
    return actions.record(survey, command, "x", by="Bo", now=NOW)


def ask(survey: Survey, code: str, message: int) -> int:
    action = act(survey)
    questions.add(
        survey, code=code, message=message, what="place", draft_name=f"{code}.eml", action=action
    )
    return action


def answered_by(survey: Survey) -> dict[str, int | None]:
    return {one.code: one.answered_by for one in questions.live(survey)}


@pytest.fixture
def mails(empty: Survey) -> list[int]:
    """Four mails of one sender, whose texts were read and whose states stand."""
    ada = people.by_address(empty, "ada@example.org", name="Ada Finch")
    rows = [made.message(empty, number, sender_id=ada) for number in range(4)]
    messages.mark_texts_read(empty, rows, "key")
    empty.connection.execute("update messages set state_due = 0")
    return rows


def test_a_question_is_asked_until_its_asking_is_taken_back(empty: Survey, mails: list[int]):
    first, second = ask(empty, "q-1", mails[0]), ask(empty, "q-2", mails[1])
    assert answered_by(empty) == {"q-1": None, "q-2": None}
    assert [one.code for one in questions.of_action(empty, first)] == ["q-1"]
    actions.undo(empty, by="Bo", now=NOW, number=first)
    assert answered_by(empty) == {"q-2": None}
    assert [questions.count_drafted(empty, mail, "place") for mail in mails] == [1, 1, 0, 0]
    actions.undo(empty, by="Bo", now=NOW, number=second)
    assert answered_by(empty) == {}


def test_an_answer_is_kept_and_a_second_mail_does_not_replace_it(empty: Survey, mails: list[int]):
    ask(empty, "q-1", mails[0])
    questions.answer(empty, "q-1", mails[1])
    questions.answer(empty, "q-1", mails[2])
    assert answered_by(empty) == {"q-1": mails[1]}


def test_what_a_person_says_to_be_an_answer_is_one_while_it_holds(empty: Survey, mails: list[int]):
    ask(empty, "q-1", mails[0])
    for mail in (mails[1], mails[2]):
        questions.say_answer(empty, "q-1", mail, action=act(empty))
    assert answered_by(empty) == {"q-1": mails[2]}
    actions.undo(empty, by="Bo", now=NOW)
    assert answered_by(empty) == {"q-1": mails[1]}


@pytest.mark.parametrize("how", ["recognised", "said"])
def test_an_answer_has_the_questioned_mail_read_and_judged_again(
    empty: Survey, mails: list[int], how: str
):
    ask(empty, "q-1", mails[0])
    messages.mark_texts_read(empty, mails, "key")
    empty.connection.execute("update messages set state_due = 0")
    if how == "recognised":
        questions.answer(empty, "q-1", mails[1])
    else:
        questions.say_answer(empty, "q-1", mails[1], action=act(empty))
    assert messages.texts_to_reread(empty) == [mails[0]]
    due = [row[0] for row in empty.connection.execute("select id from messages where state_due")]
    assert mails[0] in due


def test_texts_are_read_with_each_list_of_sites_once(empty: Survey, mails: list[int]):
    assert messages.texts_not_read_with(empty, "key") == []
    assert messages.texts_not_read_with(empty, "newer") == mails
    messages.mark_texts_read(empty, mails[:2], "newer")
    assert messages.texts_not_read_with(empty, "newer") == mails[2:]
    messages.reread_texts(empty, mails[:1])
    assert messages.texts_to_reread(empty) == [mails[0]]
    empty.connection.execute("update messages set origin = 'forgotten' where id = ?", (mails[0],))
    assert messages.texts_to_reread(empty) == []


def test_a_letter_reads_back_and_counts_while_its_action_holds(empty: Survey):
    person = people.by_address(empty, "ada@example.org") or 0
    kept = [
        LetterRow(
            person=person,
            kind=kind,
            year=year,
            draft_name=f"{kind}-{number}.eml",
            said={"s1": "Aeshna mixta", "s2": "Ważka"},
        )
        for number, (kind, year) in enumerate([("thanks", 0), ("season", 2026), ("thanks", 0)])
    ]
    numbers = []
    for letter in kept:
        numbers.append(act(empty, "replies"))
        letters.add(empty, letter, action=numbers[-1], now=NOW)
    assert letters.live(empty, "thanks") == [kept[0], kept[2]]
    assert letters.live(empty, "season") == [kept[1]]
    assert letters.of_action(empty, numbers[1]) == [kept[1]]
    actions.undo(empty, by="Bo", now=NOW)
    assert letters.live(empty, "thanks") == [kept[0]]
    assert letters.of_action(empty, numbers[2]) == [kept[2]]


@pytest.mark.parametrize(
    ("sent", "newest"),
    [
        ([], None),
        ([("2026-07-01", "")], 0),
        ([("2026-07-02", ""), ("2026-07-01", "")], 0),
        ([("2026-07-01", ""), ("2026-07-02", "auto-reply")], 0),
        ([("2026-07-01", "bounce")], None),
        ([("2026-07-01T01:00:00+02:00", ""), ("2026-07-01T00:30:00+00:00", "")], 1),
        ([("2026-07-01", ""), (None, "")], 0),
    ],
)
def test_the_newest_mail_is_one_that_the_person_wrote(empty: Survey, sent, newest):
    ada = people.by_address(empty, "ada@example.org") or 0
    rows = [
        made.message(empty, number, sender_id=ada, sent_at=day, automatic=automatic)
        for number, (day, automatic) in enumerate(sent)
    ]
    assert letters.newest_mail(empty, ada) == (None if newest is None else rows[newest])


def test_a_packet_asks_by_number_until_it_is_taken_back(empty: Survey):
    ida = people.add(empty, "Ida Kvist")
    photos = [made.photo(empty, number) for number in range(3)]
    for name, held in (("one", photos[:2]), ("two", photos[2:])):
        made.sighting(empty, name, *held)
    action = act(empty, "packet")
    packets.add(empty, "p1", ida, [("one", photos[:2]), ("two", photos[2:])], action=action)
    second = packets.asked(empty, "p1", 2)
    assert second is not None
    assert (second.sighting, second.photos, second.person) == ("two", frozenset(photos[2:]), ida)
    assert packets.asked(empty, "p1", 3) is None
    assert packets.asked(empty, "p2", 1) is None
    taken_in = act(empty, "determine")
    packets.add_answer(empty, second, "digest", action=taken_in)
    assert packets.answered(empty, second) == {"digest": taken_in}
    actions.undo(empty, by="Bo", now=NOW)
    assert packets.answered(empty, second) == {}
    actions.undo(empty, by="Bo", now=NOW, number=action)
    assert packets.asked(empty, "p1", 1) is None
