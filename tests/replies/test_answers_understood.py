"""Only an answer that says what was asked, and nothing beside it, settles by itself."""

import pytest

from triage.replies.answers import consent_in_answer, is_understood, read_answer


@pytest.mark.parametrize(
    ("text", "what", "place", "date"),
    [
        ("At Alder Pool.", "place", True, False),
        ("Alder Pool, greetings Sam", "place", True, False),
        ("Am Erlenteich, liebe Grüße", "place", True, False),
        ("Nad Olszynką, pozdrawiam", "place", True, False),
        ("On 13 June.", "date", False, True),
        ("Alder Pool, 13 June", "place and date", True, True),
        ("Yes, of course!", "publish", False, False),
    ],
)
def test_a_plain_answer_is_understood(text, what, place, date):
    assert is_understood(text, what, place=place, date=date)


@pytest.mark.parametrize(
    ("text", "what", "place", "date"),
    [
        ("What does that mean?", "place", False, False),
        ("No idea.", "place", False, False),
        ("My friend took it, do not show it as mine. Alder Pool.", "place", True, False),
        ("Alder Pool? Or was it the canal?", "place", True, False),
        ("Alder Pool, but delete the second one.", "place", True, False),
        ("Meine Nachbarin hat es am Erlenteich gemacht.", "place", True, False),
        ("Może Olszynka.", "place", True, False),
        ("Mon ami l'a prise à Alder Pool.", "place", True, False),
        ("Alder Pool", "place and date", True, False),
        ("Alder Pool", "identity", True, False),
        ("Here it is again", "original", False, False),
        ("Well, " + "and so on " * 20 + "Alder Pool", "place", True, False),
        ("Publish what?", "publish", False, False),
        ("Yes, but not with my name.", "publish", False, False),
    ],
)
def test_any_other_answer_is_read_by_a_person(text, what, place, date):
    assert not is_understood(text, what, place=place, date=date)


@pytest.mark.parametrize(
    ("text", "answer"),
    [
        ("Oui, bien sûr !", "yes"),
        ("Pas de problème.", "yes"),
        ("D'accord.", "yes"),
        ("Avec plaisir, vous pouvez les publier.", "yes"),
        ("Non merci.", "no"),
        ("Non, je ne préfère pas.", "no"),
        ("Oui, mais sans mon nom et pas sur internet.", "unclear"),
        ("Oui, à condition de me prévenir.", "unclear"),
        ("Qu'est-ce que cela veut dire ?", "unclear"),
    ],
)
def test_a_french_answer_to_our_question_is_read(text, answer):
    quoted = f"{text}\n\nLe 3 août 2026 à 10:00, Enquête a écrit :\n> Pouvons-nous publier ?"
    assert read_answer(quoted, "publish").answer == answer


@pytest.mark.parametrize(
    ("text", "what", "publish", "name", "licence"),
    [
        ("Yes, gladly.", "publish", "yes", "unstated", "CC"),
        ("No, please.", "publish", "no", "unstated", ""),
        ("Yes, gladly.", "name", "unstated", "yes", ""),
    ],
)
def test_a_plain_answer_says_what_was_asked_of_publishing(text, what, publish, name, licence):
    said = consent_in_answer(text, what, licence="CC")
    assert said is not None
    assert (said.publish, said.name_shown, said.licence) == (publish, name, licence)
    assert said.wording == text


@pytest.mark.parametrize(("text", "what"), [("Yes.", "place"), ("Yes, but not the face.", "name")])
def test_no_consent_is_read_where_none_was_asked_or_none_is_plain(text: str, what: str):
    assert consent_in_answer(text, what, licence="CC") is None
