"""A photo as a survey keeps it: what its file says, what was measured, what people said of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from triage.mail.kept import AppearanceRow
from triage.metadata.choosing import Chosen
from triage.metadata.exif import ExifRecord
from triage.photos import Photo
from triage.quality import Measurement


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoRow:
    """A photo as the survey knows it, its newest measurement with live corrections applied."""

    photo: Photo
    exif: ExifRecord
    measurement: Measurement | None
    colours: tuple[float, ...]
    corrected: tuple[str, ...]
    publication: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Exposures:
    """Photos with all copies of them, what each says, and which claims stand of them together.

    By best copy: ``copies``, itself included, where any was seen, first things first, and what
    stands. By photo: its best copy and its row.
    """

    copies: Mapping[str, Sequence[str]]
    best_of: Mapping[str, str]
    rows: Mapping[str, PhotoRow]
    everywhere: Mapping[str, Sequence[AppearanceRow]]
    chosen: Mapping[str, Chosen]
