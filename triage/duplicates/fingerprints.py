"""What finds a photo's copies: the fingerprint of its file, its Exif and its grey pixels."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from triage.analysis import hashing, keypoints
from triage.duplicates.records import Fingerprint
from triage.metadata.camera_clock import camera_of
from triage.metadata.exif import ExifRecord
from triage.metadata.position import place_claims
from triage.photos import Photo

if TYPE_CHECKING:
    from triage.analysis.images import Pixels

FEATURES_KEPT = 200  # packed with a fingerprint, and of what a border encloses:
CONTENT_FEATURES_KEPT = 120
SLIVER_PX = 32  # short side; common practice, no source: a patch of a local feature has 31 pixels

_CAPTURE_FACTS = (
    "date_time_original",
    "offset_time",
    "gps_latitude",
    "gps_altitude",
    "gps_instant",
    "make",
    "model",
    "body_serial_number",
)


class PixelKeys(NamedTuple):
    """What `Fingerprint` needs of the pixels."""

    phash: str = ""
    content_phash: str = ""
    local_features: bytes = b""


def pixel_keys(grey: Pixels) -> PixelKeys:
    """The hashes and packed local features of one picture, to be stored with its fingerprint.

    Parameters
    ----------
    grey : uint8 array, shape (height, width)
        The upright picture, long side at most 512 or so.

    Returns
    -------
    PixelKeys
        ``content_phash`` is empty when the picture has no border to take off. A sliver of less
        than 32 pixels has only its hash: there is no room for local features.

    Raises
    ------
    ValueError
        If ``grey`` is not a two-dimensional uint8 array with at least one pixel.
    """
    phash = hashing.phash256(grey)
    if min(grey.shape) < SLIVER_PX:
        return PixelKeys(phash=phash)
    inner = hashing.content(grey)
    return PixelKeys(
        phash=phash,
        content_phash=hashing.phash256(inner) if inner.size < grey.size else "",
        local_features=packed_features(grey, inner),
    )


def packed_features(grey: Pixels, inner: Pixels) -> bytes:
    """Those of the whole picture, and some more of what a border or a screen encloses."""
    packed = keypoints.find_descriptors(grey, count=FEATURES_KEPT).tobytes()
    if inner.size < grey.size:
        packed += keypoints.find_descriptors(inner, count=CONTENT_FEATURES_KEPT).tobytes()
    return packed


def fingerprint_of(
    photo: Photo,
    exif: ExifRecord,
    keys: PixelKeys,
    *,
    sender: str = "",
    colours: tuple[float, ...] = (),
) -> Fingerprint:
    """What the search for copies keeps of one photo, for loose files and surveys alike."""
    stated = next(iter(place_claims(exif, captured=exif.date_time_original, area=None)), None)
    place = stated if stated and not stated.doubts else None
    return Fingerprint(
        sha256=photo.sha256,
        phash=keys.phash,
        width=photo.width,
        height=photo.height,
        byte_size=photo.byte_size,
        sender=sender,
        camera=camera_of(exif),
        captured=_captured(exif),
        decimal_latitude=place.decimal_latitude if place else None,
        decimal_longitude=place.decimal_longitude if place else None,
        coordinate_uncertainty_in_meters=place.coordinate_uncertainty_in_meters or 0.0
        if place
        else 0.0,
        metadata_fields=sum(getattr(exif, fact) not in ("", None) for fact in _CAPTURE_FACTS),
        colours=colours,
        content_phash=keys.content_phash,
        local_features=keys.local_features,
    )


def _captured(exif: ExifRecord) -> str:
    """The camera's local time, with the fraction of a second where the file states one."""
    fraction = exif.sub_sec_time_original
    has_fraction = bool(exif.date_time_original) and fraction.isdigit()
    return exif.date_time_original + (f".{fraction}" if has_fraction else "")
