"""Examine one photo file: everything it can say by itself."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from triage import photos, quality
from triage.analysis import images
from triage.analysis.colours import colour_signature
from triage.analysis.view import Box, Heads
from triage.duplicates import PixelKeys, pixel_keys
from triage.errors import SourceError
from triage.metadata.exif import ExifRecord, read_exif
from triage.photos import Photo
from triage.quality.usability import STARTING_MODEL, UsabilityModel

METHOD = "examination 14"  # raised with every change of what a photo gives; all is examined anew
NO_KEYS = PixelKeys()


@dataclass(frozen=True, slots=True, kw_only=True)
class Examined:
    """What one photo says by itself.

    ``measurement`` is None and the photo carries its problem when the pixels cannot be decoded.
    ``keys`` and ``colours`` find its copies and its burst; ``preview`` is a JPEG of at most 512
    pixels, upright, without metadata.
    """

    photo: Photo
    exif: ExifRecord = field(default_factory=ExifRecord)
    measurement: quality.Measurement | None = None
    keys: PixelKeys = NO_KEYS
    colours: tuple[float, ...] = ()
    preview: bytes = field(repr=False, default=b"")


def examine_content(
    content: bytes,
    *,
    file_name: str = "",
    heads: Heads | None = None,
    box: Box | None = None,
    usability_model: UsabilityModel = STARTING_MODEL,
) -> Examined:
    """Examine one photo: digest, Exif, pixels decoded once, measurement, keys, preview.

    Parameters
    ----------
    content : bytes
        The whole file, as it came.
    file_name : str
        What a problem calls the photo.
    heads : Heads, optional
        The survey's own heads of the finder of the insect instead of the shipped ones.
    box : tuple of four floats, optional
        Where a person says the insect is.
    usability_model : UsabilityModel
        The survey's own, once it has one.

    Returns
    -------
    Examined
        Never raises for what the bytes hold: a photo that cannot be decoded carries its problem.
    """
    exif = read_exif(content)
    try:
        decoded = images.decode(content, name=file_name or "photo", reuse=True)
    except SourceError as error:
        known = photos.identify(content, name=file_name or "photo")
        return Examined(photo=replace(known, problem=f"{error.what}. {error.next_step}"), exif=exif)
    smaller = images.halved(decoded.rgb, quality.LOOKED_AT_PX)
    small = images.halved(smaller, quality.PREVIEW_PX)
    preview = images.shrink(small, quality.PREVIEW_PX)
    measurement = quality.measure(
        decoded.rgb,
        smaller=smaller,
        small=images.halved(small, quality.SMALL_PX),
        preview=preview,
        heads=heads,
        box=box,
        usability_model=usability_model,
    )
    # Of the photo as it came, not of the smaller one that a very large photo is measured on.
    if decoded.reduced > 1:
        measurement = quality.enlarged(measurement, decoded.reduced, model=usability_model)
    return Examined(
        photo=photos.from_header(content, decoded.header),
        exif=exif,
        measurement=measurement,
        keys=pixel_keys(images.grey_of(preview)),
        colours=colour_signature(preview, measurement.box),
        preview=images.as_jpeg(preview),
    )


def failed(photo: str, problem: str) -> Examined:
    """What is noted of a photo that could not be examined at all."""
    empty = Photo(
        sha256=photo, format="", width=0, height=0, orientation=None, byte_size=0, problem=problem
    )
    return Examined(photo=empty)
