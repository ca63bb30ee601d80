"""Fetch pixels, hashes and features of photos, each worked out once."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Collection, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from triage.analysis import hashing, keypoints
from triage.duplicates.fingerprints import PixelKeys, packed_features, pixel_keys
from triage.duplicates.records import Fingerprint

if TYPE_CHECKING:
    from numpy.typing import NDArray

Pixels = Callable[[str], "NDArray[np.uint8] | None"]
StoredFeatures = Callable[[Collection[str]], Mapping[str, bytes]]

_CACHED = 400  # photos whose features are kept at hand


class Look:
    """Pixels and features of photos, each fetched once, the latest few hundred kept."""

    def __init__(self, pixels: Pixels, stored: StoredFeatures | None) -> None:
        self._pixels = pixels
        self._stored = stored
        self._features = OrderedDict[str, "keypoints.Features | None"]()
        self._keys = dict[str, PixelKeys | None]()

    def features(self, photo: Fingerprint) -> keypoints.Features | None:
        if photo.sha256 not in self._features:
            grey = self._pixels(photo.sha256)
            self._features[photo.sha256] = None if grey is None else keypoints.find_features(grey)
            if len(self._features) > _CACHED:
                self._features.popitem(last=False)
        self._features.move_to_end(photo.sha256)
        return self._features[photo.sha256]

    def all_local_features(self, photos: Sequence[Fingerprint]) -> list[bytes]:
        """Packed features of each photo; what is stored apart is asked for once."""
        apart = [each.sha256 for each in photos if not each.local_features]
        stored = self._stored(apart) if self._stored is not None and apart else {}
        return [stored.get(each.sha256) or self.local_features(each) for each in photos]

    def local_features(self, photo: Fingerprint) -> bytes:
        if photo.local_features:
            return photo.local_features
        keys = self._keys_of(photo)
        return b"" if keys is None else keys.local_features

    def mirrored_features(self, photo: Fingerprint) -> tuple[bytes, bytes]:
        """Packed features of the picture and of its mirror image; nothing without pixels."""
        grey = self._pixels(photo.sha256)
        if grey is None:
            return photo.local_features, b""
        flipped = [np.ascontiguousarray(each[:, ::-1]) for each in (grey, hashing.content(grey))]
        return self.local_features(photo), packed_features(*flipped)

    def content_phash(self, photo: Fingerprint) -> str:
        """The hash without borders; for a photo stored without one, from its pixels."""
        if photo.content_phash or photo.local_features:
            return photo.content_phash
        keys = self._keys_of(photo)
        return "" if keys is None else keys.content_phash

    def _keys_of(self, photo: Fingerprint) -> PixelKeys | None:
        if photo.sha256 not in self._keys:
            grey = self._pixels(photo.sha256)
            self._keys[photo.sha256] = None if grey is None else pixel_keys(grey)
        return self._keys[photo.sha256]
