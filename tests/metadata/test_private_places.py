"""Homes, gardens and places to keep; sentences made for these tests."""

from __future__ import annotations

import pytest

from triage.metadata.private_places import words_of_a_private_place


@pytest.mark.parametrize(
    "words",
    [
        "In my garden, our own little pond.",
        "Seen from our balcony this morning.",
        "At home, on the washing line.",
        "Please do not publish the place.",
        "Please don't tell anybody where it was.",
        "Could you keep the location to yourselves?",
        "Gesehen in unserem Garten.",
        "Am Gartenteich, bei Sonne.",
        "Den Fundort bitte nicht veröffentlichen.",
        "Bitte die Adresse vertraulich behandeln.",
        "W moim ogrodzie, przy oczku.",
        "Proszę nie publikować dokładnego miejsca.",
        "Dans mon jardin, sur la menthe.",
        "Ne montrez pas le lieu, s'il vous plaît.",
    ],
)
def test_words_of_a_home_or_of_a_place_to_keep_are_found(words):
    assert words_of_a_private_place(f"Hello. {words} Ida") == words


@pytest.mark.parametrize(
    "words",
    [
        "At Heron Mere, near the car park.",
        "Do not publish my name.",
        "What a fine place to show my friends!",
        "The location is a garden centre's lake by the main road.",
        "Heute am Engelsee, nicht weit vom Ort.",
        "Bei uns am See.",
        "Nad jeziorem, w słońcu.",
        "Au bord du lac.",
    ],
)
def test_other_words_of_places_are_left_alone(words):
    assert words_of_a_private_place(words) == ""


# Thirty-two of each were written before the rules, twenty-six after them; what is left of those.
DOUBTED = [
    "I am not sure whether the place should be shown.",
    "Could you leave the exact location off the map?",
    "The pond belongs to my neighbours, they may not want people to know.",
    "Is it a good idea to publish where these breed?",
    "Maybe blur the location a bit, the path is on private land.",
    "I'd be happier if the spot stayed off the internet.",
    "Perhaps give the coordinates only roughly.",
    "I would not like crowds to turn up there.",
    "It's on private property, so please be discreet.",
    "The farmer let me in on condition that I keep quiet about it.",
    "Better not put a pin on the map for this one.",
    "No need to mention exactly where.",
    "Can the location be kept vague?",
    "This is a sensitive spot, collectors have been here before.",
    "I hesitate to give the place away.",
    "Ich weiß nicht, ob man den Ort zeigen sollte.",
    "Mir wäre lieber, der Teich bleibt unter uns.",
    "Vielleicht den Fundort nur ungefähr angeben.",
    "Der Besitzer möchte keine Besucher.",
    "Bitte keine genauen Koordinaten auf der Karte.",
    "Das Gelände ist privat, bitte diskret behandeln.",
    "Nie wiem, czy można pokazać to miejsce na mapie.",
    "Wolałbym, żeby to stanowisko nie trafiło do internetu.",
    "Lepiej nie zdradzać, gdzie to jest.",
    "To teren prywatny, proszę o dyskrecję.",
    "Może podać lokalizację tylko w przybliżeniu.",
    "Je préfère que l'endroit reste entre nous.",
    "Je ne sais pas s'il faut montrer le lieu.",
    "Peut-être flouter un peu la localisation.",
    "C'est un terrain privé, merci de rester discret.",
    "Mieux vaut ne pas dire où c'est.",
    "Le propriétaire ne veut pas de visiteurs.",
    "Do you think it is wise to have this one on a public map?",
    "Please treat the exact position as not for release.",
    "Location withheld at the landowner's request.",
    "The site must stay under wraps.",
    "If you print this, leave out how to get there.",
    "Ob die Stelle veröffentlicht werden darf, müssten Sie den Förster fragen.",
    "Die Koordinaten sind nur für Sie bestimmt.",
    "Bitte nur den Ortsnamen, nicht die Koordinaten.",
    "Proszę zachować lokalizację dla siebie.",
    "Leśniczy prosił, żeby nie rozgłaszać miejsca.",
    "Współrzędne tylko do wiadomości projektu.",
    "Nie chciałabym, żeby ktoś tam jeździł.",
    "Merci de garder le lieu pour vous.",
    "Les coordonnées ne sont pas pour le public.",
]
PLAIN = [
    "I don't know the name of the place.",
    "I am not sure where exactly this was.",
    "Not sure of the exact location, somewhere on the north shore.",
    "You can see the spot on the map attached.",
    "I'd show the place to everyone, it is lovely!",
    "I can't tell from the photo where the wing spot is.",
    "Maybe you know the place: Heron Mere.",
    "I don't know if it is a male, it would not show its back.",
    "The pond is not on any map I own.",
    "It kept returning to the same place.",
    "Can you tell me whether this is a female?",
    "They may publish my photos, and the place is Alder Pool.",
    "The map shows a car park near the pond.",
    "The location is given in the photo, I hope.",
    "I hope the coordinates are right.",
    "Ich weiß nicht, wie der Ort heißt.",
    "Der Teich liegt nicht auf der Karte.",
    "Die Stelle ist leicht zu finden.",
    "Ich bin nicht sicher, wo genau das war.",
    "Den Ort sehen Sie auf der Karte.",
    "Nie wiem, jak nazywa się to miejsce.",
    "Nie jestem pewien, gdzie dokładnie to było.",
    "Miejsce pokazuję na mapce.",
    "Proszę napisać, co to za gatunek i gdzie jeszcze występuje.",
    "Je ne connais pas le nom du lieu.",
    "Je ne sais pas où exactement.",
    "L'endroit est indiqué sur la carte.",
    "Le site est facile d'accès.",
    "The owner of the boat house waved at us.",
    "We parked at the private car park of the hotel.",
    "I could not say exactly where on the shore.",
    "I never showed this one to anybody, it is blurred.",
    "The place is near the sluice, you may know it.",
    "I would rather have a picture of the male.",
    "Is it rare? Nobody here can name it.",
    "Not the best photo, but the spots on the wings show.",
    "Where is the best place to look for the larvae?",
    "I hope this is the right address for photos.",
    "My address is 12 Mill Lane.",
    "The pond was nearly dry, no people about at all.",
    "I give the place as Alder Pool, but it is really the ditch behind it.",
    "I was told the pond has no fish.",
    "If you need the exact place, ask me.",
    "It is better seen in the second picture, where it shows its face.",
    "Ich nenne den Teich immer nur 'Ententeich'.",
    "Vielleicht wissen Sie, wo diese Art sonst vorkommt.",
    "Nie znam dokładnego adresu, ale to przy śluzie.",
    "Może ktoś wie, gdzie jeszcze występują?",
    "Nie wiem, czy dobrze podałam miejsce.",
    "Je ne trouve pas l'endroit sur votre carte.",
    "Je ne sais pas si c'est un mâle, on ne voit pas le dos.",
    "L'endroit n'est pas loin de la gare.",
]


@pytest.mark.parametrize("words", DOUBTED)
def test_doubt_whether_a_place_should_be_known_is_found_however_softly_it_is_put(words):
    assert words_of_a_private_place(f"Hello! {words}") != ""


@pytest.mark.parametrize("words", PLAIN)
def test_not_knowing_a_place_keeps_nothing_secret(words):
    assert words_of_a_private_place(f"Hello! {words}") == ""
