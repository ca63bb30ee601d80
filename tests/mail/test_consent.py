from __future__ import annotations

from dataclasses import replace

import pytest

from triage.mail.consent import Consent, read_consent

BY = "https://creativecommons.org/licenses/by/4.0/"
ZERO = "https://creativecommons.org/publicdomain/zero/1.0/"


@pytest.mark.parametrize(
    "text",
    [
        "You may publish my photos.",
        "Feel free to use these pictures for the survey.",
        "The photos may be used, with my name please.",
        "I agree that the pictures are published.",
        "Sie dürfen die Fotos gerne veröffentlichen.",
        "Ich bin einverstanden, dass die Bilder veröffentlicht werden.",
        "Die Bilder dürfen verwendet werden.",
        "Możecie opublikować zdjęcia.",
        "Wyrażam zgodę na publikację zdjęć.",
        "Zgadzam się na wykorzystanie tych zdjęć.",
        "The photos are CC BY 4.0.",
        "Feel free to publish!",
        "I give you permission to use my photos.",
        "I don't mind if you publish the pictures.",
        "You may use my photos without asking.",
        "You need not ask before publishing the photos.",
        "I did not use a tripod for these photos. You may publish them.",
        "Please do not publish the exact place, the photos are fine to use.",
        "You may publish the photos, but not the exact location.",
        "Die Fotos können Sie gerne verwenden.",
        "Ich habe nichts dagegen, wenn Sie die Bilder veröffentlichen.",
        "Die Veröffentlichung der Bilder ist in Ordnung.",
        "Zdjęcia mogą być publikowane.",
        "Nie mam nic przeciwko publikacji zdjęć.",
    ],
)
def test_a_plain_grant_is_read(text):
    assert read_consent(text).publish == "yes"


@pytest.mark.parametrize(
    "text",
    [
        "Please do not publish my photos.",
        "Don\u2019t use the pictures, please.",
        "The photos may not be published.",
        "You may not use these pictures.",
        "I do not agree to the photos being published.",
        "Bitte die Fotos nicht veröffentlichen.",
        "Ich erlaube keine Veröffentlichung der Bilder.",
        "Proszę nie publikować zdjęć.",
        "Nie zgadzam się na publikację zdjęć.",
        "You may publish the photos. No wait: do not publish them.",
        "Photos are not CC BY, do not reuse them.",
        "You can use the photo only for the survey, not for publication.",
        "Die Bilder dürfen nicht ohne Rücksprache verwendet werden.",
        "Nie wyrażam zgody na publikację moich zdjęć.",
        "The CC BY licence is not OK for me.",
        "A snapshot from our outing. Not for publication. Anna",
        "Please do not publish!",
        "Nicht zur Veröffentlichung.",
        "Nie do publikacji.",
    ],
)
def test_a_refusal_is_respected(text):
    assert read_consent(text).publish == "no"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "Seen at Alder Pool yesterday, twelve of them.",
        "May I publish the photos myself?",
        "Would it be possible to publish them?",
        "If you want to publish the photos, ask me.",
        "Can you publish the list of species?",
        "Darf ich die Fotos veröffentlichen?",
        "Wenn Sie die Bilder verwenden wollen, fragen Sie mich.",
        "Czy mogę opublikować zdjęcia?",
        "You can see it on the third picture.",
        "I used my new camera for these photos.",
        "Sie können das Tier auf dem Bild gut sehen.",
        "The book was published in May.",
        "Cc: Ben",
        "cc by email to Ben",
        "You can see the photos I used last year.",
        "You can use the map to find it.",
        "Die Fotos zeigen das Männchen, Sie können es gut sehen.",
        "All rights reserved.",
        "I would be happy if you used the photos.",
        "You may use the photos for identification.",
        "You may use the photos but not commercially.",
        "Na zdjęciu można zobaczyć skrzydła.",
    ],
)
def test_what_is_not_stated_is_not_assumed(text):
    consent = read_consent(text)
    assert (consent.publish, consent.licence, consent.name_shown) == ("unstated", "", "unstated")


@pytest.mark.parametrize(
    ("text", "licence"),
    [
        ("Licence: CC BY 4.0", BY),
        ("Photos under CC-BY.", BY),
        ("My pictures are CC BY-NC-SA 3.0", "https://creativecommons.org/licenses/by-nc-sa/3.0/"),
        ("cc by-sa", "https://creativecommons.org/licenses/by-sa/4.0/"),
        ("Creative Commons BY-ND", "https://creativecommons.org/licenses/by-nd/4.0/"),
        ("All of them CC0.", ZERO),
        (
            "https://creativecommons.org/licenses/by-nc/4.0/",
            "https://creativecommons.org/licenses/by-nc/4.0/",
        ),
        ("The photos are in the public domain.", ZERO),
        ("Die Bilder sind gemeinfrei.", ZERO),
        ("One is CC BY, the other CC0.", ""),
        ("CC BY-SA-ND", ""),
        ("One photo CC BY.\n\nThe other photo CC0.", ""),
        ("Is it CC BY?", ""),
    ],
)
def test_a_stated_licence_becomes_its_address(text, licence):
    assert read_consent(text).licence == licence


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Please credit me.", "yes"),
        ("You may publish the photos under my name.", "yes"),
        ("Bitte mit Namensnennung: die Bilder dürfen unter meinem Namen gezeigt werden.", "yes"),
        ("Zdjęcia można opublikować pod moim nazwiskiem.", "yes"),
        ("Please do not publish my name.", "no"),
        ("You may use the photos, but please anonymously.", "no"),
        ("Sie dürfen die Fotos verwenden, aber ohne Namen.", "no"),
        ("Bitte meinen Namen nicht nennen.", "no"),
        ("Możecie opublikować zdjęcia, ale bez nazwiska.", "no"),
        ("My name can be published.", "yes"),
        ("You may use my photos under CC BY 4.0 and print my name.", "yes"),
        ("CC BY-NC 4.0, name may be shown. Ida", "yes"),
        ("No publication of my name, please.", "no"),
        ("You may publish photo and name (CC BY 4.0).", "yes"),
        ("Sie dürfen Foto und Namen veröffentlichen.", "yes"),
        ("The pond and name of the site are on the map.", "unstated"),
        ("You may publish the photos with credit: Ada Finch.", "yes"),
        ("Do not publish my name or my photos.", "no"),
        ("My name is Ada.", "unstated"),
    ],
)
def test_whether_the_name_may_be_shown(text, shown):
    assert read_consent(text).name_shown == shown


def test_a_nameless_grant_still_grants_the_photos():
    consent = read_consent("You may use the photos, but please anonymously.")
    assert (consent.publish, consent.name_shown) == ("yes", "no")


def test_refusing_the_name_refuses_nothing_else():
    consent = read_consent("You may publish the photos. Please do not mention my name.")
    assert (consent.publish, consent.name_shown) == ("yes", "no")


@pytest.mark.parametrize(
    "text", ["No publication of my name, please.", "Do not publish the exact place."]
)
def test_a_refusal_of_something_else_says_nothing_of_the_photos(text):
    assert read_consent(text).publish == "unstated"


def test_the_wording_is_kept_as_written():
    consent = read_consent("Seen at Alder Pool.\nYou may publish\nmy photos. Best wishes.")
    assert consent.wording == "You may publish my photos."


def test_a_grant_for_some_uses_is_left_to_a_person_with_its_wording():
    consent = read_consent("You may use the photos but not commercially.")
    assert consent.publish == "unstated"
    assert consent.wording == "You may use the photos but not commercially."


@pytest.mark.parametrize(
    "text",
    [
        "I withdraw my permission.",
        "I changed my mind about the photos, sorry.",
        "Please take the photos down.",
        "Could you delete my pictures?",
        "I no longer want them shown.",
        "Ich widerrufe meine Zustimmung.",
        "Ich ziehe meine Einwilligung zurück.",
        "Bitte löschen Sie meine Fotos.",
        "Cofam zgodę.",
        "Proszę usunąć moje zdjęcia.",
        "I'd rather you didn't publish the photos.",
        "I would prefer that you not use them.",
        "Please keep the photos private.",
        "For identification only, not on the web.",
        "Identification only please.",
        "For your eyes only.",
        "Bitte nicht ins Internet.",
        "Nur zur Bestimmung, bitte.",
        "Die Bilder sind vertraulich.",
        "Wolałabym nie.",
        "Tylko do oznaczenia.",
        "You may publish my photos under CC BY 4.0. On second thought: keep them private.",
    ],
)
def test_a_withdrawal_or_a_soft_refusal_is_a_no(text):
    assert read_consent(text).publish == "no"


@pytest.mark.parametrize(
    "text",
    [
        "He says you may publish his photos.",
        "My friend took these. You may publish them under CC BY 4.0.",
        "You may publish the photos by my brother.",
        "My daughter (8) took this, publish it with her name. You may publish the photo.",
        "The photos are CC BY 4.0, taken by my son, aged 9.",
        "You can use the photos of our school class.",
        "Seine Bilder dürfen Sie veröffentlichen.",
        "Meine Tochter hat das Foto gemacht, das Bild ist CC BY 4.0.",
        "Jego zdjęcia można opublikować.",
        "Moja córka zrobiła te zdjęcia. Możecie opublikować zdjęcia.",
    ],
)
def test_what_is_anothers_to_give_or_a_childs_grants_nothing_and_is_kept(text):
    consent = read_consent(text)
    assert (consent.publish, consent.licence) == ("unstated", "")
    assert consent.name_shown != "yes"
    assert consent.wording


def test_a_refusal_stands_also_beside_a_child():
    assert read_consent("Please do not publish my photos of my son.").publish == "no"


@pytest.mark.parametrize(
    "text",
    [
        "Please don't put it on the web.",
        "My wife took it. Please don't put it on the web.",
        "No publishing please.",
        "Please keep it off the internet.",
        "Not for social media.",
        "We do not want them on your website.",
        "I do not agree to publication.",
        "No photos published without asking.",
        "Bitte nicht ins Netz stellen.",
        "Bitte stellen Sie es nicht ins Internet.",
        "Mit der Veröffentlichung bin ich nicht einverstanden.",
        "Nie zgadzam się na publikację.",
        "Proszę nie umieszczać w internecie.",
        "Je ne suis pas d'accord pour une publication.",
    ],
)
def test_a_refusal_needs_no_word_for_the_photos(text: str):
    assert read_consent(text).publish == "no"


@pytest.mark.parametrize(
    "text",
    [
        "I did not find it online.",
        "I could not see it on the web.",
        "We have no internet here.",
        "I did not use a net.",
        "This site is not online yet.",
        "Sorry, no photos this time.",
        "Ich habe nichts im Internet gefunden.",
        "Nie znalazłem tego w internecie.",
        "Please don't put the place on the web.",
    ],
)
def test_what_people_tell_of_themselves_refuses_nothing(text: str):
    assert read_consent(text).publish == "unstated"


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("Zgadzam się na publikację pod warunkiem, że bez nazwiska.", "no"),
        ("Use as you like, credit Rod Pike.", "yes"),
        ("Kein Problem, Sie dürfen die Bilder veröffentlichen.", "unstated"),
        ("I agree to publication.", "unstated"),
    ],
)
def test_a_short_grant_is_read_with_what_it_says_of_the_name(text: str, name: str):
    read = read_consent(text)
    assert (read.publish, read.name_shown) == ("yes", name)


@pytest.mark.parametrize(
    "text",
    [
        "Could we keep this one between ourselves?",
        "I'd feel better if my name stayed out of it.",
        "Please check with me before anything of mine goes up.",
        "Not on facebook, please.",
        "Lieber nichts davon ins Netz, wenn das geht.",
        "Bitte nur intern.",
        "Co do zdjęć na stronie, to jeszcze się zastanowię.",
        "Juste pour vous, s'il vous plaît.",
    ],
)
def test_words_about_use_are_held_and_hold_a_grant_beside_them(text: str):
    assert read_consent(text).wording or read_consent(text).publish == "no"
    beside = read_consent(f"You may publish my photos with my name. {text}")
    assert beside.publish != "yes"
    assert text in beside.wording


@pytest.mark.parametrize(
    "text",
    [
        "I would rather have a better picture, but it flew off.",
        "It was in a private garden. I saw on your website that you want skins.",
        "Mein Handy zeigt nur die Seite, ich weiß den Namen nicht.",
        "Zdjęcie tylko z telefonu, ale może wystarczy.",
        "La photo est floue mais on voit les ailes, pas de vent.",
        "This e-mail and its attachments are confidential and intended solely for the addressee."
        " Unauthorised use is not permitted.",
    ],
)
def test_pictures_cameras_and_the_small_print_of_firms_say_nothing_of_use(text: str):
    assert replace(read_consent(text), aside="") == Consent()


def test_a_refused_name_and_words_to_be_seen_are_both_kept():
    read = read_consent("Please do not publish my name. As to the photos, I am not so keen.")
    assert (read.publish, read.name_shown, read.held) == ("unstated", "no", True)


@pytest.mark.parametrize(
    ("text", "publish"),
    [
        ("I had to take my photos down, my employer complained.", "no"),
        ("Please no picture of us posted.", "no"),
        ("I had to take the photo down by the sluice.", "unstated"),
        ("Please keep us posted.", "unstated"),
    ],
)
def test_a_picture_taken_down_is_a_refusal_and_one_taken_down_at_the_water_is_not(
    text: str, publish: str
):
    found = read_consent(text)
    assert (found.publish, bool(found.wording)) == (publish, publish == "no")
