"""The records of the search for copies: what it keeps of a photo, links of two, groups of many."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal


@dataclass(frozen=True, slots=True, kw_only=True)
class Fingerprint:
    """What the search for copies keeps of one photo.

    ``phash`` is a 256-bit DCT hash as 64 hexadecimal digits. ``captured`` is local ISO time or
    empty. The place is what the file states or a person said, None where it is doubted, with
    the radius that surely holds it. Sender and camera are opaque keys, empty when unknown.
    ``metadata_fields`` counts the capture facts the file carries, for choosing the best copy.
    ``colours`` is the insect's colour signature, asked of frames that are not quite close in
    time. ``content_phash`` is the hash of the picture without its borders, empty when it has
    none; ``local_features`` are the packed features of `pixel_keys`: both are worked out from
    the pixels when empty, at a cost. ``sketch`` is the part of the features that
    `candidates.sketch_of` takes, for a known photo of which no more is at hand: it is compared
    with its sender's new ones alone.
    """

    sha256: str
    phash: str = ""
    width: int = 0
    height: int = 0
    byte_size: int = 0
    sender: str = ""
    camera: str = ""
    captured: str = ""
    decimal_latitude: float | None = None
    decimal_longitude: float | None = None
    coordinate_uncertainty_in_meters: float = 0.0
    metadata_fields: int = 0
    colours: tuple[float, ...] = ()
    content_phash: str = ""
    local_features: bytes = field(repr=False, default=b"")
    sketch: bytes = field(repr=False, default=b"")


def worth(photo: Fingerprint, share: float = 1.0) -> tuple[int, int, int, str]:
    """What makes one file of an exposure better than another: the pixels of its scene, then the
    facts it carries, its bytes, and for an order its digest. ``share`` of its area is picture."""
    pixels = round(photo.width * photo.height * share)
    return pixels, photo.metadata_fields, photo.byte_size, photo.sha256


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoLink:
    """Two photos and why they belong together: as copies of one exposure, or as a burst.

    ``first`` has the smaller digest. The picture shares say how much of each file's area is
    picture and not border or screen: 1 unless the one frames the other.
    """

    kind: Literal["copy", "burst"]
    first: str
    second: str
    evidence: str
    picture_share_first: float = 1.0
    picture_share_second: float = 1.0

    @property
    def is_by_time(self) -> bool:
        """Whether it rests on time and camera alone, not on what the pictures show."""
        return self.evidence.startswith(BY_TIME)


BY_TIME = "same camera, "  # how the evidence of such links begins


@dataclass(frozen=True, slots=True, kw_only=True)
class CopyGroup:
    """The same exposure several times: digests in order, the best of them, and why they join.

    The identifier is made from the smallest digest, so it does not depend on the order of import.
    """

    identifier: str
    members: tuple[str, ...]
    best: str
    evidence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BurstGroup:
    """Frames of one scene seconds apart, in the order of their capture; all are kept."""

    identifier: str
    members: tuple[str, ...]
    best: str
    evidence: str
