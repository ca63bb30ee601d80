"""What sentences mean lies near in four languages, and is weighed by a polynomial."""

from __future__ import annotations

import numpy as np
import pytest

from triage.mail import meaning
from triage.mail.meaning import LENGTH, meanings, products_on

# The same wish in four languages, and a sight in four: our own sentences.
WISH = (
    "Please remove my photograph from your files.",
    "Bitte entfernen Sie mein Foto aus Ihren Unterlagen.",
    "Proszę usunąć moje zdjęcie z państwa zbiorów.",
    "Merci de retirer ma photo de vos dossiers.",
)
SIGHT = (
    "A blue dragonfly sat on a reed in the sun.",
    "Eine blaue Libelle saß in der Sonne auf einem Schilfhalm.",
    "Niebieska ważka siedziała w słońcu na trzcinie.",
    "Une libellule bleue était posée au soleil sur un roseau.",
)


@pytest.mark.parametrize("at", range(4))
def test_a_sentence_is_nearer_to_its_translations_than_to_anything_else(at: int):
    """That the encoder does so is published (Yang et al. 2020, section 4.2); here it is seen."""
    vectors = meanings([*WISH, *SIGHT])
    near = vectors @ vectors[at]
    assert near[:4].min() > near[4:].max()


def test_vectors_have_length_one_and_are_the_same_alone_or_among_others():
    together = meanings([*WISH, *SIGHT])
    assert together.shape == (8, LENGTH)
    assert np.allclose(np.linalg.norm(together, axis=1), 1, atol=1e-5)
    assert np.allclose(together[5], meanings([SIGHT[1]])[0], atol=1e-5)
    assert meanings([]).shape == (0, LENGTH)


def test_what_was_asked_lately_is_kept_and_no_more(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(meaning, "KEPT", 5)
    monkeypatch.setattr(meaning, "_KEPT", kept := {})
    before = meanings(WISH)
    assert list(kept) == [*WISH]
    assert (meanings([WISH[2], WISH[0], WISH[2]]) == before[[2, 0, 2]]).all()
    assert (meanings([*SIGHT, WISH[3]])[-1] == before[3]).all()
    assert list(kept) == [WISH[3], *SIGHT]
    assert meanings([*WISH, *SIGHT]).shape == (8, LENGTH)  # more than are kept
    assert len(kept) == 5
    assert all(vector.base is None for vector in kept.values())  # no batch lies behind one


@pytest.mark.parametrize("text", ["", " ", "\x00", "🦋" * 4000, "a" * 100_000, "\ud83e", "‏שלום"])
def test_any_text_has_a_meaning(text: str):
    assert np.isfinite(meanings([text])).all()


def test_products_weigh_as_a_polynomial_of_the_angle():
    vectors = meanings([*WISH, *SIGHT])
    axes = np.linalg.svd(vectors)[2][:8].astype(np.float32)  # all that they span
    products = products_on(vectors, axes)
    cosine = vectors @ vectors.T
    assert np.allclose(products @ products.T, (cosine + cosine**2 / 2) / 2, atol=1e-4)


def test_what_lies_on_no_axis_weighs_nothing():
    assert not products_on(
        np.zeros((1, LENGTH), np.float32), np.eye(3, LENGTH, dtype=np.float32)
    ).any()
