"""How like the words around a site's name, or a day, are to mails whose photo is from there.

A sum of weights over signs of the form in which it is named, the words of the mail, their pairs and
runs of letters, told apart by whether they stand in the sentence of the name, before it or behind
it, and over what that sentence and the mail mean (``triage.mail.meaning``); whatever the language.
Fitted on the batches of tests/data/mails (``triage.bench.training.mentions``, docs/metadata.md).
Features are weighted by how much more often
they stand in one kind than in the other: Wang & Manning (2012), Baselines and Bigrams: Simple, Good
Sentiment and Topic Classification, https://aclanthology.org/P12-2018.
"""

from __future__ import annotations

import re
import zlib
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from triage.mail.likeness import fitted_weights, sums_of_weights
from triage.mail.meaning import LENGTH, meanings, products_on
from triage.metadata.text_spans import SITE, Span

Mentioned = Literal["place", "day"]
MENTIONED: tuple[Mentioned, ...] = get_args(Mentioned)
FILE = ("triage.metadata", "mentions.npz")
BUCKETS = 1 << 16  # features are told apart by as many sums
REACH = 1_000  # characters on either side of the first mention that are read
NEAR = 6  # words on either side of the name whose nearness counts
LETTERS = (4, 5, 6)
SIGN = 6  # words that a sign counts as much as
_NAMED = "qqnamedqq"  # stands for the name
_SITE_WORD = " qqsiteqq "  # for a site's beside a day
# What the stand-ins are called where the meaning is asked, so that no name of its own has a say.
_CALLED: dict[Mentioned, str] = {"place": "the pond", "day": "that day"}
_END = re.compile(r"(?<=[.!?;])\s+|\n")


def likeness(
    text: str,
    spans: Sequence[Span],
    kind: Mentioned,
    signs: Sequence[str],
    *,
    without: int | None = None,
) -> float:
    """How much a mail is like those whose photo is from the place, or the day, that they name.

    Parameters
    ----------
    spans : sequence of (int, int)
        Where the one site, or the one day, is named in ``text``.
    signs : sequence of str
        What the rules say of the form in which it is named.
    without : int, optional
        A fold of the batches in [0, FOLDS): by the weights that were fitted without it.

    Returns
    -------
    float
        About 1 like them, about -1 like mails whose photo is from elsewhere.

    Examples
    --------
    >>> likeness("Seen at Heron Mere yesterday.", [(8, 18)], "place", ["safe"]) > 0.2
    True
    >>> likeness("I live near Heron Mere, it is from our canal.", [(12, 22)], "place", []) > 0
    False
    """
    found = features(text, spans, signs)
    products = products_on(meaning([said_around(text, spans, kind)]), fitted_weights(*FILE).axes)
    (like,) = sums_of_weights(*FILE, MENTIONED.index(kind), [found], products, without)
    return like


def features(text: str, spans: Sequence[Span], signs: Sequence[str]) -> NDArray[np.int64]:
    """The buckets of the signs and of what stands around the spans, each once.

    >>> features("At X.", [(3, 4)], []).tolist() == features("at Yy.", [(3, 5)], []).tolist()
    True
    """
    said = {f"sign {sign} {copy}" for sign in signs for copy in range(SIGN)}
    said.update(_said(_near(text, spans)))
    return np.array(sorted({zlib.crc32(one.encode()) % BUCKETS for one in said}), dtype=np.int64)


def said_around(text: str, spans: Sequence[Span], kind: Mentioned) -> tuple[str, str]:
    """The sentence of the first mention, and the mail around it, without the name.

    >>> said_around("Hello. Seen at Heron Mere yesterday.", [(15, 25)], "place")[0]
    'Seen at the pond yesterday.'
    """
    near = re.sub(f"{SITE}+", _CALLED["place"], _near(text, spans))
    sentence = next((one for one in _END.split(near) if _NAMED in one), near)
    one, whole = (re.sub(f" *{_NAMED} *", f" {_CALLED[kind]} ", part) for part in (sentence, near))
    return one.strip(), whole.strip()


def meaning(said: Sequence[tuple[str, str]]) -> NDArray[np.float32]:
    """What sentences and mails of mentions mean, side by side; shape (len(said), 2 * LENGTH)."""
    return meanings([part for pair in said for part in pair]).reshape(len(said), 2 * LENGTH)


def _near(text: str, spans: Sequence[Span]) -> str:
    first = min((start for start, _ in spans), default=0)
    start, end = max(0, first - REACH), first + REACH
    near = text[start:end]
    for one, other in sorted(spans, reverse=True):
        if start <= one and other <= end:
            near = f"{near[: one - start]} {_NAMED} {near[other - start :]}"
    return near


def _said(text: str) -> Iterator[str]:
    where = "before"
    text = re.sub(f"{SITE}+", _SITE_WORD, text)
    for sentence in _END.split(text):
        words = [re.sub(r"\d+", "0", one) for one in re.findall(r"[^\W_]+", sentence.casefold())]
        at = words.index(_NAMED) if _NAMED in words else None
        where = "beside" if at is not None else "behind" if where == "beside" else where
        for one in words:
            yield one
            yield f"{where} {one}"
            bounded = f"^{one}$"
            for length in LETTERS:
                for first in range(len(bounded) - length + 1):
                    yield f"any {bounded[first : first + length]}"
                    yield f"{where} {bounded[first : first + length]}"
        for one, other in pairwise(words):
            yield f"{one} {other}"
            yield f"{where} {one} {other}"
        if at is not None:
            yield from _around(words, at)


def _around(words: Sequence[str], at: int) -> Iterator[str]:
    """What stands on either side of the name in its sentence, near it, and right beside it."""
    for side, run in (("ahead", words[:at][::-1]), ("after", words[at + 1 :])):
        for one in run:
            yield f"{side} {one}"
        for one in run[:NEAR]:
            yield f"{side} near {one}"
        for step in range(3):
            yield f"{side} {step} {run[step] if step < len(run) else '^'}"
        yield f"{side} both {' '.join(run[:2])}"
