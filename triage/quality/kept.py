"""A photo as a survey keeps it: what its file says, what was measured, what people said of it."""

from __future__ import annotations

from dataclasses import dataclass

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
