"""What stands of all that a person said: refusals at once, grants once they were seen."""

from dataclasses import replace

import pytest

from triage.mail.consent_standing import Said, standing_consent

BY = "https://creativecommons.org/licenses/by/4.0/"


def said(publish="unstated", name="unstated", day="2026-08-18", *, answers=False, licence=""):
    return Said(
        publish=publish,
        name_shown=name,
        licence=licence,
        wording=f"{publish} {name} {day}",
        said_at=f"{day}T10:00:00+00:00",
        answers=answers,
    )


GRANT = said("yes", licence=BY)


def test_a_grant_waits_until_its_words_were_seen():
    waiting = standing_consent([GRANT], seen=False)
    assert (waiting.publish, waiting.licence, waiting.unseen) == ("unstated", "", (GRANT.wording,))
    assert standing_consent([GRANT], seen=True).licence == BY


def test_words_that_were_seen_to_grant_nothing_are_not_asked_about_again():
    denied = replace(said(day="2026-08-19", answers=True), wording=GRANT.wording)
    again = replace(GRANT, said_at="2026-08-20T10:00:00+00:00")
    other = said("yes", "yes", day="2026-08-21")
    assert standing_consent([GRANT, denied, again], seen=False).unseen == ()
    assert standing_consent([GRANT, denied, again], seen=True).publish == "unstated"
    found = standing_consent([GRANT, denied, again, other], seen=False)
    assert found.unseen == (other.wording,)
    found = standing_consent([GRANT, denied, again, other], seen=True)
    assert (found.publish, found.licence) == ("yes", "")


def test_a_denied_grant_leaves_unclear_words_to_decide_and_the_other_way_round():
    unclear = replace(said(day="2026-08-17"), wording="You may publish them once my book is out.")
    denied = replace(said(day="2026-08-19", answers=True), wording=GRANT.wording)
    found = standing_consent([unclear, GRANT, denied], seen=False)
    assert (found.unseen, found.unclear) == ((), (unclear.wording,))
    decided = replace(denied, wording=unclear.wording)
    found = standing_consent([unclear, GRANT, decided], seen=False)
    assert (found.unseen, found.unclear) == ((GRANT.wording,), ())


def test_a_grant_that_answers_our_question_stands_at_once():
    found = standing_consent([replace(GRANT, answers=True)], seen=False)
    assert (found.publish, found.licence, found.unseen) == ("yes", BY, ())


def test_a_refusal_stands_at_once():
    assert standing_consent([said("no")], seen=False).publish == "no"


@pytest.mark.parametrize("swapped", [False, True])
def test_the_date_of_the_mail_decides_not_the_order_of_arrival(swapped):
    pair = [said("no", day="2026-08-25"), GRANT]
    found = standing_consent(pair[::-1] if swapped else pair, seen=True)
    assert (found.publish, found.licence) == ("no", "")


def test_a_later_grant_undoes_an_earlier_refusal_once_seen():
    statements = [said("no", day="2026-08-01"), GRANT]
    assert standing_consent(statements, seen=True).publish == "yes"
    waiting = standing_consent(statements, seen=False)
    assert (waiting.publish, waiting.unseen) == ("no", (GRANT.wording,))


def test_a_grant_before_a_refusal_is_nobodys_work():
    statements = [GRANT, said("no", day="2026-08-25")]
    assert standing_consent(statements, seen=False).unseen == ()


def test_a_condition_is_left_to_decide_until_something_that_stands_is_said_after_it():
    condition = replace(said(day="2026-08-20"), wording="You may use them once my article is out.")
    words = (condition.wording,)
    assert standing_consent([GRANT, condition], seen=True).unclear == words
    assert (
        standing_consent([GRANT, condition, said("no", day="2026-08-21")], seen=True).unclear == ()
    )
    later = said("yes", day="2026-08-21")
    assert standing_consent([condition, later], seen=True).unclear == ()
    assert standing_consent([condition, later], seen=False).unclear == words


def test_a_condition_ends_a_grant_before_it():
    assert standing_consent([GRANT, said(day="2026-08-20")], seen=True).publish == "unstated"


def test_unclear_words_suspend_photos_and_name_until_someone_says_they_are_about_something_else():
    grant, unclear = said("yes", "yes", licence=BY), said(day="2026-08-20")
    held = standing_consent([grant, unclear], seen=True)
    assert (held.publish, held.name_shown, held.licence) == ("unstated", "unstated", "")
    assert held.unclear == (unclear.wording,)
    settled = standing_consent([grant, unclear, said(day="2026-08-21", answers=True)], seen=True)
    assert (settled.publish, settled.name_shown, settled.licence) == ("yes", "yes", BY)
    assert settled.unclear == ()


def test_words_that_may_be_a_soft_refusal_are_asked_about_beside_a_grant_alone():
    words = replace(said(day="2026-08-20"), wording="I would be mortified to come across them.")
    beside = standing_consent([GRANT, words], seen=True)
    assert (beside.publish, beside.unclear) == ("unstated", (words.wording,))
    alone = standing_consent([words], seen=False)
    assert (alone.publish, alone.unclear) == ("unstated", ())


def test_a_refused_name_ends_no_unclear_words():
    statements = [GRANT, said(day="2026-08-20"), said(name="no", day="2026-08-21")]
    found = standing_consent(statements, seen=True)
    assert (found.publish, found.name_shown) == ("unstated", "no")


def test_photos_and_name_are_chosen_each_by_itself():
    statements = [GRANT, said(name="no", day="2026-08-20"), said("yes", day="2026-08-21")]
    found = standing_consent(statements, seen=True)
    assert (found.publish, found.name_shown) == ("yes", "no")
