"""Writes released places as GeoJSON, which map programs open as it is.

References
----------
Butler, H. et al. 2016. The GeoJSON format. RFC 7946. https://doi.org/10.17487/RFC7946
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence

from triage.exports.occurrences import Row
from triage.exports.tables import declared

PLACE_TERMS = ("coordinateUncertaintyInMeters", "coordinatePrecision", "dataGeneralizations")


def geojson_bytes(tables: Mapping[str, tuple[Sequence[str], Sequence[Row]]]) -> bytes:
    """Sites, sightings and exuviae lots with coordinates as one FeatureCollection.

    Longitude first, WGS 84, as RFC 7946 wants; a record without released coordinates is left out.
    """
    features = [
        feature
        for name in ("sites", "sightings", "lots")
        for row in tables[name][1]
        for feature in _feature(name, row)
    ]
    document = {"type": "FeatureCollection", "features": features}
    return (json.dumps(document, ensure_ascii=False, indent=1) + "\n").encode("utf-8", "replace")


def _feature(name: str, row: Row) -> Iterable[dict[str, object]]:
    if not (row.get("decimalLatitude") and row.get("decimalLongitude")):
        return
    table = declared()[name]
    yield {
        "type": "Feature",
        "id": row[table["key"][0]],
        "geometry": {
            "type": "Point",
            "coordinates": [float(row["decimalLongitude"]), float(row["decimalLatitude"])],
        },
        "properties": {
            "kind": name,
            **{term: row[term] for term in (*table["on_map"], *PLACE_TERMS) if row.get(term)},
        },
    }
