"""A site's name in a mail is the photo's place, unless the words around it say otherwise."""

import pytest

from triage.metadata.place_forms import offer_of_mention
from triage.metadata.position import NamedPlace
from triage.metadata.text_places import find_sites

MERE = NamedPlace(
    location_id="S1",
    locality="Heron Mere",
    aliases=(),
    decimal_latitude=53.9,
    decimal_longitude=21.7,
    coordinate_uncertainty_in_meters=150.0,
)
FEN = NamedPlace(
    location_id="S2",
    locality="Kestrel Fen",
    aliases=(),
    decimal_latitude=53.8,
    decimal_longitude=21.6,
    coordinate_uncertainty_in_meters=150.0,
)

PLAIN = [
    "Seen at Heron Mere yesterday.",
    "Heron Mere, 13 June",
    "Heron Mere",
    "Place: Heron Mere",
    "Ort: Heron Mere",
    "Hello, two photos from Heron Mere. Best wishes, Ida",
    "Here is one from Heron Mere on Sunday morning.",
    "I was at Heron Mere this morning and saw this one.",
    "On the north bank of Heron Mere, about noon.",
    "Is this a hawker? Heron Mere, about noon.",
    "I am not sure what it is. Heron Mere, Saturday.",
    "I could not name it. It was seen at Heron Mere.",
    "Sorry, not very sharp! Taken at Heron Mere.",
    "We walked around Heron Mere and found three of them.",
    "am Heron Mere gesehen",
    "Gestern am Heron Mere fotografiert, leider nicht scharf.",
    "nad Heron Mere, wczoraj",
    "Heron Mere - no idea what it is",
    "This was at Heron Mere (near the jetty).",
    "Dragonfly at Heron Mere",
    "Found on reeds by Heron Mere, it was sunny.",
    "Three photos of the same animal, Heron Mere, 12:30.",
    "Visited Heron Mere with my son and we saw this.",
    "My first one this year! Heron Mere.",
    "Heron Mere again. It was sitting on a stone.",
    "Hi all, from Heron Mere: a male, I believe.",
    "Taken by me at Heron Mere.",
    "Photos attached. Site: Heron Mere. Date: 13 June.",
    "At Heron Mere they were everywhere.",
    "The photos are from Heron Mere.",
    "All pictures were taken at Heron Mere.",
    "These were seen at Heron Mere in the evening.",
    "Heron Mere 13.06.2026",
    "On my lunch break at Heron Mere.",
    "Exuvia found at Heron Mere, on a bulrush.",
    "Grüße, Foto vom Heron Mere",
    "Dear team, this is from Heron Mere. Regards, Bo",
    "Hallo, heute am Heron Mere eine Libelle gesehen.",
    "A pair at Heron Mere, sadly not in focus.",
    "Could this be new for Heron Mere?",
]
OTHERWISE = [
    "Not at Heron Mere this time but the ditch behind the mill.",
    "This was not Heron Mere.",
    "It wasn't at Heron Mere, it was further north.",
    "A ditch instead of Heron Mere.",
    "Diesmal nicht am Heron Mere, sondern am Graben.",
    "Tym razem nie nad Heron Mere.",
    "I live near Heron Mere and saw this elsewhere.",
    "We live at Heron Mere.",
    "My address is 12 Heron Mere Road.",
    "Ida Brenn, 12 Heron Mere, Linnet",
    "Ich wohne am Heron Mere.",
    "Mieszkam nad Heron Mere.",
    "Greetings from the Kestrel Fen Society!",
    "Your newsletter about Kestrel Fen of 3 August was lovely.",
    "I am a member of the Heron Mere group.",
    "Heron Mere car park cafe; the photo is from the Baltic.",
    "We had tea at Heron Mere Farm.",
    "Last year I saw one at Heron Mere.",
    "Tomorrow we go to Heron Mere.",
    "Five km from Heron Mere.",
    "Just like those at Heron Mere.",
    "Heron Mere was closed, so this is from the canal.",
    "This is from the canal and not Heron Mere.",
    "My garden pond, not far from Heron Mere.",
    "I read your report on Heron Mere.",
    "Had lunch at Heron Mere. The pictures are from the coast.",
]


def test_the_plain_mails_are_forty_and_at_most_two_are_asked():
    asked = [text for text in PLAIN if any(c.doubts for c in find_sites(text, [MERE, FEN])[0])]
    assert len(PLAIN) == 40
    assert len(asked) <= 2, asked


@pytest.mark.parametrize("text", PLAIN)
def test_a_plain_mention_names_the_site(text):
    (claim,), _, _ = find_sites(text, [MERE, FEN])
    assert claim.location_id == "S1" or claim.locality.endswith("Heron Mere")


@pytest.mark.parametrize(
    "text",
    [
        "Site: Heron Mere",
        "Fundort: Heron Mere, 14. Juni",
        "Miejsce: Heron Mere",
        "Lieu : Heron Mere",
        "Saw this beauty at Heron Mere.",
        "Near Heron Mere, 14/6/2026.",
        "Another from Heron Mere, same day.",
        "My son found this exuvia at Heron Mere.",
        "Heron Mere (north bank), 10:15",
        "Diese Libelle saß am Heron Mere im Schilf.",
        "Ich habe sie gestern am Heron Mere fotografiert.",
        "Zdjęcie zrobione wczoraj nad Heron Mere.",
        "Wczoraj nad Heron Mere widziałem taką ważkę.",
        "Photo prise au Heron Mere le 14 juin.",
        "Bonjour, voici une libellule du Heron Mere.",
        "Greetings from the Kestrel Fen Society! Seen at Heron Mere.",
        "I live near Kestrel Fen. This one was at Heron Mere.",
    ],
)
def test_a_known_form_stands_in_four_languages(text):
    claims, questions, _ = find_sites(text, [MERE, FEN])
    assert [(claim.location_id, claim.doubts) for claim in claims] == [("S1", ())]
    assert questions == []


@pytest.mark.parametrize(
    "text",
    [
        "The cafe at Heron Mere is closed.",
        "My neighbour saw one at Heron Mere last week.",
        "Have you been to Heron Mere?",
        "On the way to Heron Mere I took this.",
        "The photo is from the Baltic, Heron Mere was too windy.",
        "Nothing at Heron Mere today, so this is from the canal.",
        "Seen in my garden, 2 km from Heron Mere.",
        "Is it the same as those you photographed at Heron Mere?",
        "I saw it at Heron Mere and another in my garden.",
        "We drove past Heron Mere and then took this by the sea.",
        "See you at Heron Mere on Sunday.",
        "Ich arbeite am Heron Mere.",
        "Meine Nachbarin hat sie am Heron Mere gesehen.",
        "Auf dem Weg zum Heron Mere gesehen.",
        "Mieszkam koło Heron Mere, zdjęcie z ogrodu.",
        "Dziękuję za artykuł o Heron Mere.",
        "J'habite près du Heron Mere.",
        "Dans mon jardin, pas loin du Heron Mere.",
        "Pas au Heron Mere cette fois, mais au canal.",
    ],
)
def test_any_other_mention_is_an_offer_with_its_words(text):
    (claim,), (question,), _ = find_sites(text, [MERE, FEN])
    assert claim.doubts
    assert "Heron Mere" in question


@pytest.mark.parametrize(
    "marked",
    [
        '"Heron Mere"',
        "\u201cHeron Mere\u201d",
        "\u201eHeron Mere\u201c",
        "\u00ab Heron Mere \u00bb",
    ],
)
def test_a_name_in_quotation_marks_is_asked_about_but_in_a_field(marked):
    ((claim,), questions, _) = find_sites(f"Seen yesterday on board the {marked}, at noon.", [MERE])
    assert "quotation marks" in claim.doubts[0]
    assert questions
    ((claim,), _, _) = find_sites(f"Place: {marked}", [MERE])
    assert not claim.doubts


@pytest.mark.parametrize(
    "words",
    [
        "If I have it wrong please tell me.",
        "I may be wrong about the name.",
        "Correct me if I'm wrong.",
    ],
)
def test_who_may_be_wrong_about_the_animal_takes_no_place_back(words):
    ((claim,), _, _) = find_sites(f"Location: Heron Mere\nRuddy darter? {words}", [MERE])
    assert not claim.doubts
    assert offer_of_mention("Location: ", "Heron Mere", "\nMy last mail was wrong.")


def test_in_a_sentence_that_goes_on_and_on_a_name_is_an_offer():
    """What denies it may stand further off than is looked."""
    filling = "and then there were more of them over the water " * 10
    denied = f"I did not see this one, {filling}and I was at Heron Mere yesterday."
    (found,), _, _ = find_sites(denied, [MERE, FEN])
    assert found.doubts


def test_a_second_site_is_asked_and_one_that_is_denied_is_no_second_site():
    both, questions, _ = find_sites("First at Heron Mere, later at Kestrel Fen.", [MERE, FEN])
    assert all(claim.doubts for claim in both)
    assert questions == ["Which site is the photo from: Heron Mere, Kestrel Fen?"]
    denied, _, _ = find_sites("I live near Kestrel Fen. Seen at Heron Mere.", [MERE, FEN])
    assert [claim.location_id for claim in denied] == ["S1"]


@pytest.mark.parametrize("text", OTHERWISE)
def test_a_name_that_is_not_said_of_the_photo_is_asked_about(text):
    claims, questions, _ = find_sites(text, [MERE, FEN])
    assert claims
    assert all(claim.doubts for claim in claims)
    assert questions


def claim_of(text):
    (claim,) = find_sites(text, [MERE])[0]
    return claim


@pytest.mark.parametrize(
    "text",
    [
        "It may be from Heron Mere, it may be from our week in the caravan.",
        "This might have been taken at Heron Mere.",
        "Das Bild könnte vom Heron Mere sein, könnte auch aus dem Urlaub sein.",
        "Zdjęcie może z Heron Mere, może z wakacji.",
        "Może być znad Heron Mere, ale nie wiem.",
        "Photo peut-être de Heron Mere, peut-être de nos vacances.",
        "Cela pourrait être à Heron Mere.",
    ],
)
def test_a_place_that_the_photo_may_be_from_is_an_offer(text):
    assert claim_of(text).doubts[0].startswith("its words are not sure of the place")


def test_not_being_sure_of_the_animal_leaves_the_place():
    assert claim_of("This may be a southern hawker, seen at Heron Mere yesterday.").doubts == ()


@pytest.mark.parametrize(
    ("line", "address"),
    [
        ("ul. Heron Mere 12 m. 4", "Heron Mere 12 m. 4"),
        ("ul. Heron Mere 12", "ul. Heron Mere 12"),
        ("os. Heron Mere 3", "os. Heron Mere 3"),
        ("al. Heron Mere 3/5", "al. Heron Mere 3"),
        ("Heron Mere 3/5\n00-001 Warszawa", "Heron Mere 3/5"),
        ("12, rue Heron Mere", "12, rue Heron Mere"),
        ("12 bis, avenue de Heron Mere", "12 bis, avenue de Heron Mere"),
        ("Heron-Mere-Str. 4", "Heron-Mere-Str."),
        ("Am Heron Mere 4\n12345 Köln", "Heron Mere 4 12345 Köln"),
        ("Heron Mere 4, LS1 4AB Leeds", "Heron Mere 4, LS1 4AB"),
    ],
)
def test_a_street_and_a_number_make_an_address_of_a_name(line, address):
    assert f"'{address}' may be an address" in claim_of(f"A dragonfly.\nAnna\n{line}").doubts[0]


@pytest.mark.parametrize(
    "text",
    ["Heron Mere 12 July", "Heron Mere 12/7", "Place: Heron Mere 3", "Heron Mere, 5 males"],
)
def test_a_number_behind_a_name_makes_no_address(text):
    assert claim_of(text).doubts == ()


@pytest.mark.parametrize(
    "text",
    [
        "I was at Heron Mere. Next week I go abroad, to the beach? Photo from there.",
        "Byłam nad Heron Mere. Potem byliśmy za granicą. Zdjęcie stamtąd.",
        "Ich war am Heron Mere. Danach waren wir in Italien. Fotos von dort anbei.",
        "Nous étions à Heron Mere. Puis nous sommes partis loin. Photos de là-bas.",
    ],
)
def test_from_there_is_of_the_place_last_named(text):
    assert claim_of(text).doubts


def test_from_there_right_behind_a_name_is_of_it():
    assert claim_of("I was at Heron Mere on Sunday. Photo from there.").doubts == ()
