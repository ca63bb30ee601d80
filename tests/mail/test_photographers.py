"""Who took a photo is heard in four languages, with the name where one is given."""

import pytest

from triage.mail.photographers import another_took_it


@pytest.mark.parametrize(
    ("sentence", "name"),
    [
        ("My friend Ida Reed took it.", "Ida Reed"),
        ("It was taken by my neighbour, Tom Vale.", "Tom Vale"),
        ("Ida Reed took these at the weir.", "Ida Reed"),
        ("Photo by Ida Reed", "Ida Reed"),
        ("Photos: Ida van Reed", "Ida van Reed"),
        ("\u00a9 2026 Ida Reed", "Ida Reed"),
        ("Lena took this on our walk at Kingcup Marsh yesterday.", "Lena"),
        ("Lena hat das Foto am Weiher gemacht.", "Lena"),
        ("Lena zrobiła to zdjęcie.", "Lena"),
        ("Kolega zrobił je nad stawem.", ""),
        ("Ein Bekannter hat sie am Weiher fotografiert.", ""),
        ("Lena l'a prise hier.", "Lena"),
        ("My wife took the photo, I only send it.", ""),
        ("My father photographed this in 1994.", ""),
        ("These are pictures by my brother.", ""),
        ("The photo is not mine.", ""),
        ("I didn't take this one.", ""),
        ("Forwarding this for Mr Voss, who has no computer.", "Mr Voss"),
        ("Meine Freundin Ida Reed hat das Bild aufgenommen.", "Ida Reed"),
        ("Aufgenommen von Ida Reed.", "Ida Reed"),
        ("Foto: Ida Reed", "Ida Reed"),
        ("Mein Bruder hat es am Weiher fotografiert.", ""),
        ("Das Foto ist nicht von mir.", ""),
        ("Zdjęcie zrobiła Ida Reed.", "Ida Reed"),
        ("Moja siostra zrobiła to zdjęcie.", ""),
        ("Zdjęcie wykonane przez kolegę: to nie moje.", ""),
        ("Zdjęcie: Ida Reed", "Ida Reed"),
        ("Mon amie Ida Reed l'a prise.", "Ida Reed"),
        ("Photo de Ida Reed", "Ida Reed"),
        ("Prise par mon frère.", ""),
        ("La photo n'est pas de moi.", ""),
    ],
)
def test_another_photographer_is_heard(sentence, name):
    found, whom = another_took_it(f"Hello.\n\n{sentence}\n\nBest wishes, Bo")
    assert found == sentence
    assert whom == name


@pytest.mark.parametrize(
    "text",
    [
        "I took this at the pond.",
        "We took the path along the shore.",
        "Yesterday it took off at once.",
        "Libellen fliegen hier viele.",
        "Taken by me on 3 July.",
        "Photos of a male at Heron Mere.",
        "Photo by the boardwalk at Heron Mere.",
        "My wife saw it first, I took the photo.",
        "Mein Sohn (11) hat das Tier entdeckt und ich habe fotografiert.",
        "Three photos: Heron Mere, 3 July.",
        "Ich habe das Bild am Weiher aufgenommen.",
        "Die Aufnahmen von gestern sind unscharf.",
        "Foto vom Heron Mere",
        "Zrobiłam to zdjęcie wczoraj.",
        "Nad Stawem Olchowym zrobiłem to zdjęcie.",
        "W sobotę nad Jeziorem Bobrowym sfotografowałem tę ważkę.",
        "This is at Teal Pool, photographed on 1 July.",
        "Zdjęcia z Heron Mere",
        "J'ai pris cette photo hier.",
        "Photo de la Mare du Héron",
        "My friend and I walked to the mill and saw this.",
        "",
    ],
)
def test_the_senders_own_photos_raise_nothing(text):
    assert another_took_it(text, places=["Heron Mere", "Mare du Héron"]) == ("", "")


@pytest.mark.parametrize("who", ["He", "She", "Somebody", "Grandad"])
def test_a_word_that_names_nobody_is_no_name(who):
    sentence = f"{who} took this in 1987 at Long Pond."
    assert another_took_it(sentence) == (sentence, "")
