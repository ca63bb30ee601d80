"""What is said in French about publishing: grants, refusals, conditions, withdrawals, others'."""

from __future__ import annotations

import pytest

from triage.mail.consent import read_consent, speaks_of_children
from triage.mail.wishes import asks_to_delete


@pytest.mark.parametrize(
    "text",
    [
        "Vous pouvez publier mes photos.",
        "Vous pouvez utiliser ces photos pour l'enquête.",
        "Vous pouvez bien sûr publier les photos avec mon nom.",
        "Je vous autorise à publier mes photos.",
        "J'autorise la publication de mes photos.",
        "Je donne mon accord pour la publication de ces images.",
        "Je suis d'accord pour que les photos soient publiées.",
        "Les photos peuvent être publiées.",
        "Mes clichés peuvent être utilisés librement.",
        "Je ne vois pas d'inconvénient à ce que vous publiiez mes photos.",
        "Aucune objection à la publication des photos.",
        "N'hésitez pas à publier mes photos.",
        "Libre à vous de publier ces photos.",
        "Tu peux utiliser mes photos.",
        "Photos libres de droits, vous pouvez les publier.",
        "La publication des photos ne me dérange pas.",
        "Vous pouvez publier la photo, mais pas le lieu exact.",
    ],
)
def test_a_plain_grant_is_read(text):
    assert read_consent(text).publish == "yes"


@pytest.mark.parametrize(
    "text",
    [
        "Merci de ne pas publier mes photos.",
        "Ne publiez pas mes photos, s'il vous plaît.",
        "Je ne souhaite pas que mes photos soient publiées.",
        "Je n'autorise pas la publication de mes photos.",
        "Je refuse la publication des photos.",
        "Les photos ne doivent pas être publiées.",
        "Vous ne pouvez pas utiliser ces photos.",
        "Je ne suis pas d'accord pour la publication des photos.",
        "Pas de publication, merci.",
        "Ne pas publier.",
        "Vous pouvez publier les photos. Non, en fait : ne les publiez pas.",
        "Aucune publication de mes photos sans mon accord.",
        "Je préfère que les photos restent privées.",
        "Je préférerais que vous ne les montriez pas.",
        "Uniquement pour identification.",
        "Seulement pour la détermination, pas sur internet.",
        "Pas sur le site web, svp.",
        "À garder pour vous.",
        "Usage strictement privé.",
        "Photos confidentielles.",
        "Je retire mon accord.",
        "Je retire mon autorisation.",
        "J'ai changé d'avis pour les photos.",
        "Je ne suis plus d'accord.",
        "Je ne veux plus que mes photos soient en ligne.",
        "Merci de supprimer mes photos.",
        "Veuillez effacer mes images.",
        "Pourriez-vous enlever mes photos du site ?",
    ],
)
def test_a_refusal_a_soft_one_and_a_withdrawal_are_a_no(text):
    assert read_consent(text).publish == "no"


@pytest.mark.parametrize(
    "text",
    [
        "Puis-je publier les photos moi-même ?",
        "Si vous voulez publier les photos, demandez-moi d'abord.",
        "Voulez-vous publier mes photos ?",
        "Vous pouvez voir l'insecte sur la photo.",
        "J'ai utilisé mon nouvel appareil pour ces photos.",
        "Le livre a été publié en mai.",
        "Vous pouvez publier la liste des espèces.",
        "Peut-être pourrez-vous publier les photos un jour.",
        "Je serais d'accord à condition que vous me demandiez.",
        "Vue hier à la Mare du Héron.",
    ],
)
def test_what_is_not_stated_is_not_assumed(text):
    consent = read_consent(text)
    assert (consent.publish, consent.licence, consent.name_shown) == ("unstated", "", "unstated")


@pytest.mark.parametrize(
    "text",
    [
        "Vous pouvez utiliser les photos, mais pas à des fins commerciales.",
        "Vous pouvez publier les photos uniquement dans votre rapport.",
        "Oui pour la publication des photos, à condition de me prévenir.",
    ],
)
def test_a_condition_grants_nothing_and_its_words_are_kept(text):
    consent = read_consent(text)
    assert consent.publish != "yes"
    assert consent.wording == text


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Vous pouvez publier les photos sous mon nom.", "yes"),
        ("Merci de me créditer.", "yes"),
        ("Mon nom peut être mentionné.", "yes"),
        ("Les photos peuvent être publiées avec mention de mon nom.", "yes"),
        ("Vous pouvez publier les photos, mais sans mon nom.", "no"),
        ("Vous pouvez publier les photos de façon anonyme.", "no"),
        ("Merci de ne pas publier mon nom.", "no"),
        ("Ne mentionnez pas mon nom.", "no"),
        ("Mon nom est Ada.", "unstated"),
    ],
)
def test_whether_the_name_may_be_shown(text, shown):
    assert read_consent(text).name_shown == shown


def test_a_nameless_grant_still_grants_the_photos():
    consent = read_consent("Oui, vous pouvez publier les photos, mais sans mon nom.")
    assert (consent.publish, consent.name_shown) == ("yes", "no")


def test_a_refusal_of_the_name_says_nothing_of_the_photos():
    assert read_consent("Merci de ne pas publier mon nom.").publish == "unstated"


@pytest.mark.parametrize(
    "text",
    [
        "Il dit que vous pouvez publier ses photos.",
        "Mon amie a pris ces photos. Vous pouvez les publier sous CC BY 4.0.",
        "Vous pouvez publier les photos de mon frère.",
        "Ma fille (8 ans) a pris cette photo. Vous pouvez publier la photo avec son nom.",
        "Les photos de mon fils sont CC BY 4.0.",
        "Vous pouvez utiliser les photos de notre classe.",
        "C'est mon voisin qui a fait les photos, vous pouvez les publier.",
    ],
)
def test_what_is_anothers_to_give_or_a_childs_grants_nothing_and_is_kept(text):
    consent = read_consent(text)
    assert (consent.publish, consent.licence) == ("unstated", "")
    assert consent.name_shown != "yes"
    assert consent.wording


@pytest.mark.parametrize(
    "text", ["Ma fille a pris la photo.", "Photo de nos élèves.", "Mon petit-fils l'a vue."]
)
def test_children_are_heard_of(text):
    assert speaks_of_children(text)


@pytest.mark.parametrize("text", ["La fille de l'eau, une libellule.", "Un jeune mâle.", "Merci !"])
def test_young_insects_are_no_children(text):
    assert not speaks_of_children(text)


def test_a_licence_is_read_in_a_french_sentence():
    by = "https://creativecommons.org/licenses/by/4.0/"
    assert read_consent("Mes photos sont sous licence CC BY 4.0.").licence == by
    assert read_consent("Les photos sont dans le domaine public.").licence.endswith("zero/1.0/")


@pytest.mark.parametrize(
    "text",
    [
        "Je souhaite que mes données soient effacées.",
        "Pouvez-vous retirer ma photo du site ?",
        "Oubliez-moi.",
        "Je ne veux plus voir mes photos chez vous.",
    ],
)
def test_a_wish_to_be_deleted_is_heard(text):
    assert asks_to_delete(f"Bonjour.\n{text}\nIda") == text
