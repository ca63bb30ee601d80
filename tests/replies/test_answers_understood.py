"""Only an answer that says what was asked, and nothing beside it, settles by itself."""

import pytest

from triage.replies.answers import Stated, consent_in_answer, is_understood, read_answer

PLACES = ("Alder Pool", "Erlenteich", "Olszynką", "Olszynka", "53.9108, 21.7172")
DAYS = ("13 June, about 3 pm", "13 June", "13. Juni", "13 czerwca", "13 juin", "Yesterday")


def stated(text: str) -> Stated:
    """What the readers of places and days find in these answers."""
    found = [word for word in (*PLACES, *DAYS) if word in text]
    return Stated(
        place=any(one in PLACES for one in found),
        date=any(one in DAYS for one in found),
        words=tuple(found),
    )


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("At Alder Pool.", "place"),
        ("Alder Pool, greetings Sam", "place"),
        ("Hi, that was Alder Pool. Best, Sam", "place"),
        ("Hello Ada,\n\nit was taken at Alder Pool.\n\nHope this helps!\nSam", "place"),
        ("Dear Ada, the photo is from Alder Pool. Kind regards, Sam Vale", "place"),
        ("Sorry, I forgot: Alder Pool.", "place"),
        ("I took it at Alder Pool, on the north shore by the jetty.", "place"),
        ("Alder Pool :-)\n\nSam", "place"),
        ("Alder Pool\nWanda", "place"),
        ("53.9108, 21.7172", "place"),
        ("Am Erlenteich, liebe Grüße", "place"),
        ("Das war am Erlenteich.\nGruß, Jutta Brandt", "place"),
        ("Hallo, das Foto habe ich am Erlenteich gemacht, direkt am Steg.", "place"),
        ("Nad Olszynką, pozdrawiam", "place"),
        ("Dzień dobry, zdjęcie zrobiłem nad Olszynką. Pozdrawiam, Olek", "place"),
        ("Bonjour, c'était à Alder Pool. Cordialement, Luc", "place"),
        ("J'ai pris la photo à Alder Pool, près du ponton.", "place"),
        ("On 13 June.", "date"),
        ("I took it on 13 June, about noon.", "date"),
        ("Am 13. Juni, nachmittags.", "date"),
        ("13 czerwca, po południu.", "date"),
        ("Le 13 juin, vers midi.", "date"),
        ("Alder Pool, 13 June", "place and date"),
        ("1. Alder Pool\n2. 13 June", "place and date"),
        ("2) 13 June\n1) Alder Pool\n\nSam", "place and date"),
        ("Ort: Erlenteich\nDatum: 13. Juni", "place and date"),
        ("Yes, of course!", "publish"),
        ("Yes, you may publish my photos.", "publish"),
        ("No problem!", "publish"),
        ("Hello, yes, that is fine with me. Best wishes, Sam Vale", "publish"),
        ("Ja, gerne, kein Problem.\nJutta", "publish"),
        ("Tak, zgadzam się.", "publish"),
        ("Oui, avec plaisir. Pas de souci.", "publish"),
        ("No, please don't.", "publish"),
        ("Yes, Sam Vale please.", "name"),
        ("Lieber nicht.", "name"),
    ],
)
def test_a_plain_answer_is_understood(text, what):
    assert is_understood(text, what, stated(text), names=["Sam Vale"])


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("What does that mean?", "place"),
        ("No idea.", "place"),
        ("My friend took it, do not show it as mine. Alder Pool.", "place"),
        ("Alder Pool? Or was it the canal?", "place"),
        ("Alder Pool, but delete the second one.", "place"),
        ("Meine Nachbarin hat es am Erlenteich gemacht.", "place"),
        ("Może Olszynka.", "place"),
        ("Mon ami l'a prise à Alder Pool.", "place"),
        ("Alder Pool", "place and date"),
        ("Alder Pool", "identity"),
        ("Alder Pool, I can go on 13 June", "search"),
        ("Here it is again", "original"),
        ("Well, " + "and so on " * 20 + "Alder Pool", "place"),
        # who took it
        ("Erlenteich, fotografiert von Uwe Brandt.", "place"),
        ("À Alder Pool ; c'est ma fille qui a fait la photo.", "place"),
        ("Nad Olszynką, zdjęcie robił mąż.", "place"),
        ("Alder Pool. Photo: Nora Vale", "place"),
        ("Alder Pool - I only mailed it.", "place"),
        # what else it shows, how it is to be kept, what is wished
        ("Alder Pool. By the way the camera's clock is an hour off.", "place"),
        ("Alder Pool. They are two different animals.", "place"),
        ("Erlenteich. Das sind zwei verschiedene Tiere.", "place"),
        ("Alder Pool, please keep it secret.", "place"),
        ("Alder Pool. Please leave my name out.", "place"),
        ("Alder Pool. Please no more letters.", "place"),
        ("Alder Pool. My address has changed: new@example.org", "place"),
        ("Alder Pool. I also collected two skins there.", "place"),
        ("Alder Pool; call me on 01234 567890 any time", "place"),
        # of several, or as before
        ("Both at Alder Pool.", "place"),
        ("Alder Pool, as always.", "place"),
        ("As I said, at Alder Pool.", "place"),
        ("Yesterday, as I wrote.", "date"),
        # how sure, how near
        ("Alder Pool I think", "place"),
        ("Probably Alder Pool.", "place"),
        ("Am Erlenteich, glaube ich", "place"),
        ("Pewnie Olszynka.", "place"),
        ("Je crois que c'était Alder Pool.", "place"),
        ("Somewhere around Alder Pool.", "place"),
        ("Around 13 June.", "date"),
        ("Etwa am 13. Juni.", "date"),
        ("Około 13 czerwca.", "date"),
        ("Vers le 13 juin.", "date"),
        ("After 13 June.", "date"),
        ("13 June is when I uploaded it.", "date"),
        # a yes that is none yet, or is for something
        ("Publish what?", "publish"),
        ("Yes, but not with my name.", "publish"),
        ("Yes, once my daughter has agreed too.", "publish"),
        ("Ja, sobald ich gefragt habe.", "publish"),
        ("Tak, jeśli córka się zgodzi.", "publish"),
        ("Oui, quand ma fille sera d'accord.", "publish"),
        ("Yes, for research.", "publish"),
        ("Yes, in low resolution.", "publish"),
        ("Yes, let me think about it.", "publish"),
        ("Yes, CC BY-NC 4.0 please.", "publish"),
        ("I do not understand the question.", "publish"),
        ("Yes, but as 'Dragon Sam'", "name"),
        ("Yes, Nora Ferry please.", "name"),
    ],
)
def test_any_other_answer_is_read_by_a_person(text, what):
    assert not is_understood(text, what, stated(text), names=["Sam Vale"])


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


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("Yes.", "place"),
        ("Yes, but not the face.", "name"),
        ("Yes, once my daughter has agreed too.", "publish"),
        ("You may publish my photos once my daughter has agreed.", "publish"),
        ("Yes, CC BY-NC 4.0 please.", "publish"),
        ("Yes, what is CC BY", "publish"),
        ("Ja, für wissenschaftliche Zwecke.", "publish"),
    ],
)
def test_no_consent_is_read_where_none_was_asked_or_none_is_plain(text: str, what: str):
    assert consent_in_answer(text, what, licence="CC") is None
