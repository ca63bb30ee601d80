"""Fit what tells a photo's own place and day from others that its mail names (``mentions.npz``).

    python -m triage.bench.training.mentions tests/data/mails

FOLDER holds the batches of plain and odd mails, and what is told besides and never counted. The
figures are of batches that the weights had not seen. A minute or two on one core.
"""

from __future__ import annotations

import sys
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from importlib import resources
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from triage.bench.training.likeness import (
    ODD,
    PLAIN,
    SHARE,
    Fit,
    axes_of,
    mixed,
    ridge,
    ridge_of_meaning,
    save,
)
from triage.mail.authorship import divide_text
from triage.mail.header_words import with_own_subject
from triage.mail.likeness import FOLDS, fitted_weights
from triage.mail.meaning import products_on
from triage.metadata.days_found import Day
from triage.metadata.mentions import (
    BUCKETS,
    FILE,
    MENTIONED,
    Mentioned,
    features,
    likeness,
    meaning,
    said_around,
)
from triage.metadata.position import NamedPlace
from triage.metadata.text_dates import days_named, offer_of, place_stands, signs_of
from triage.metadata.text_places import find_sites, told_of
from triage.metadata.text_spans import SITE, Span, blanked

PENALTY: dict[Mentioned, float] = {"place": 0.5, "day": 2.0}
MEANT = 0.1  # the penalty of what is meant
MISSED = (0.2, 0.1, 0.05, 0.02)  # shares of other places and days that are taken for the photo's
ZONE = ZoneInfo("Europe/Warsaw")
TOLD_ON = "2026-07-15"  # the day of sending of mails that are told besides


@dataclass(frozen=True, slots=True, kw_only=True)
class Mention:
    """A site or a day that a mail names; ``fold`` is -1 for what is in every fit."""

    text: str
    spans: tuple[Span, ...]
    signs: Sequence[str]
    own: bool
    fold: int
    plain: bool


def main(folder: Path) -> None:
    """Fit, put the file in place, and print what held-out batches say.

    The day's likeness knows how the place stands, by the place's weights without the same fold.
    What days mean is told on the axes of places: the mails are the same.
    """
    file = Path(str(resources.files(FILE[0]) / FILE[1]))
    by_kind: dict[Mentioned, list[Mention]] = {}
    fits: list[Fit] = []
    axes = np.zeros((0, 0), dtype=np.float32)
    for kind in MENTIONED:
        by_kind[kind] = list(read(folder, kind))
        vectors = meaning([said_around(one.text, one.spans, kind) for one in by_kind[kind]])
        axes = axes if len(axes) else axes_of(vectors)
        fits.append(fitted(by_kind[kind], products_on(vectors, axes), PENALTY[kind]))
        save(file, fits, axes)
        fitted_weights.cache_clear()
    for kind, mentions in by_kind.items():
        report(kind, mentions)


def sites_of(folder: Path) -> tuple[NamedPlace, ...]:
    """The sites that the batches speak of."""
    return tuple(
        NamedPlace(
            location_id=name,
            locality=name,
            aliases=(),
            decimal_latitude=53 + number / 10,
            decimal_longitude=21.7,
            coordinate_uncertainty_in_meters=100.0,
        )
        for number, name in enumerate((folder / "waters.txt").read_text("utf-8").splitlines())
    )


def read(folder: Path, kind: Mentioned) -> Iterator[Mention]:
    """Every site, or day, that the mails of the batches name."""
    sites = sites_of(folder)
    for path in sorted(folder.glob("*.toml")):
        batch, _, number = path.stem.partition("_")
        if batch in (*PLAIN, *ODD, "told"):
            fold = None if batch == "told" else int(number) % FOLDS
            for mail in tomllib.loads(path.read_text("utf-8"))["mails"]:
                for text, spans, signs, own in _named(mail, sites, kind, fold):
                    yield Mention(
                        text=text,
                        spans=tuple(spans),
                        signs=signs,
                        own=own,
                        fold=-1 if fold is None else fold,
                        plain=batch in PLAIN,
                    )


def _named(
    mail: dict[str, Any], places: Sequence[NamedPlace], kind: Mentioned, fold: int | None
) -> Iterator[tuple[str, list[Span], Sequence[str], bool]]:
    subject = mail.get("subject", "")
    text = with_own_subject(subject, divide_text(mail["text"], subject=subject)[0].text)
    if kind == "place":
        for mention, spans in told_of(text, places):
            if (site := mention.claim.location_id) and mail["place"] != "fix":
                own = mail["place"] in (site, "there")
                yield text, spans, mention.signs, own
        return
    sites, _, names = find_sites(text, places, without=fold)
    sent = datetime.fromisoformat(f"{mail.get('sent', TOLD_ON)}T21:15").replace(tzinfo=ZONE)
    shown = blanked(text, names, by=SITE)
    by_day: dict[tuple[str, str], list[Day]] = {}
    for day in days_named(text, shown, sent)[0]:
        by_day.setdefault((day.first.isoformat(), day.last.isoformat()), []).append(day)
    if mail["when"] != "untold":
        for (first, last), found in by_day.items():
            signs = signs_of(offer_of(found[0], found, shown), place_stands(sites))
            own = _is_true(first, last, mail["when"])
            yield shown, [day.span for day in found], signs, own


def _is_true(first: str, last: str, when: str) -> bool:
    if when == "then":
        return True
    begins, _, ends = when.partition("/")
    return bool(when) and first <= (ends or begins) and begins <= last


def fitted(mentions: list[Mention], meant: NDArray[np.float32], penalty: float) -> Fit:
    """Weights and biases of a kind; ``meant`` is what each mention means, a row each."""
    own = np.array([one.own for one in mentions])
    folds = np.array([one.fold for one in mentions])
    words = ridge(
        [features(one.text, one.spans, one.signs) for one in mentions],
        own,
        folds,
        penalty=np.full(len(mentions), penalty),
        buckets=BUCKETS,
        telling=True,
    )
    even = np.full(len(mentions), MEANT)
    return mixed(words, ridge_of_meaning(meant, own, folds, penalty=even), SHARE)


def report(kind: Mentioned, mentions: list[Mention]) -> None:
    """Print, for shares of others that are missed, how many of plain mails are asked in vain."""
    counted = [one for one in mentions if one.fold >= 0]
    like = np.array([likeness(o.text, o.spans, kind, o.signs, without=o.fold) for o in counted])
    own, plain = (np.array([getattr(one, what) for one in counted]) for what in ("own", "plain"))
    for missed in MISSED:
        least = float(np.quantile(like[~own], 1 - missed))
        asked = like[own & plain] <= least
        print(
            f"{kind}: {missed:.0%} of {(~own).sum()} others are above {least:.2f}, and "
            f"{asked.mean():.1%} of {len(asked)} in plain mails below"
        )


if __name__ == "__main__":
    if len(sys.argv) != 2:
        raise SystemExit(__doc__)
    main(Path(sys.argv[1]))
