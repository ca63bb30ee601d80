"""Read a table or a GeoJSON file of sites, with the rows that are refused."""

from __future__ import annotations

import json
import math
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from triage.analysis import geodesy
from triage.analysis.geodesy import Area
from triage.errors import TableError
from triage.exuviae.footprints import (
    MAXIMUM_SPAN_IN_METERS,
    point_of_footprint,
    read_footprint,
)
from triage.exuviae.held_already import refuse_other_site, spellings
from triage.exuviae.misplaced import misplaced_sites
from triage.exuviae.records import Site
from triage.exuviae.twins import twin_sites
from triage.metadata.point_radius import digits_uncertainty
from triage.standards.tables import (
    CellError,
    RefusedRow,
    TableRow,
    category,
    columns_of,
    identifier,
    keep_held,
    listed,
    number,
    read_bytes,
    read_table,
    records_of,
    refuse_respelt,
    text,
    words,
    yes_or_no,
)

DEFAULT_UNCERTAINTY_IN_METERS = 30.0
# Darwin Core, coordinateUncertaintyInMeters: 30 is the least to be assumed for a position by GPS
# since 2000-05-01 whose accuracy was not recorded. Zero is no valid value there.
LEAST_UNCERTAINTY, MOST_UNCERTAINTY = 1e-3, MAXIMUM_SPAN_IN_METERS / 2  # metres
POINT_OFF_FOOTPRINT_IN_METERS = 10_000.0  # farther from its own shape a point is a slip
_COLUMNS = columns_of("sites")
_SAME_DATUM = {"", "epsg:4326", "wgs84", "wgs 84", "wgs1984", "wgs 1984"}


def read_sites(
    path: Path,
    *,
    area: Area | None = None,
    zone: str = "",
    known: Sequence[Site] = (),
    twins: bool = False,
) -> tuple[list[Site], list[RefusedRow]]:
    """Read sites from a table, or from a GeoJSON file (``.geojson``, ``.json``).

    A position is compared with the survey's ``area`` (south, west, north, east) and time
    ``zone``, with the sites ``known`` before and with the others of the table. A site with the
    name or the point of another is refused, unless it is said that such ``twins`` are two sites.

    A site needs a locationID and a position: decimalLatitude and decimalLongitude, or a
    footprint, whose point is then taken. Without coordinateUncertaintyInMeters the radius of the
    footprint is taken, else 30 m and what the digits of the point leave open. In a GeoJSON file the
    properties bear the names of the columns, and the line of a refused row is the number of the
    feature, from 1.

    Raises
    ------
    TableError
        The file as a whole cannot be read.
    """
    if path.suffix.lower() in (".geojson", ".json"):
        rows, refused = _features(path)
    else:
        table = read_table(path, required=_COLUMNS["required"], optional=_COLUMNS["optional"])
        rows, refused = [(row, None) for row in table.rows], list(table.refused)
    geometries = {row.line: geometry for row, geometry in rows}
    held = {site.location_id: site for site in known}
    spelt = spellings(held)

    shapes, names = (
        Counter(_shape(row.cells.get(column, "")) for row, _ in rows)
        for column in ("locationID", "locality")
    )

    def site_of(row: TableRow) -> tuple[int, Site]:
        _refuse_exchanged_name(row, shapes, names)
        site = _site(row, geometries[row.line])
        before = held.get(site.location_id)
        refuse_respelt(site.location_id, "locationID", spelt)
        refuse_other_site(site, before)
        site = keep_held(site, before, row, _COLUMNS["kept"], if_empty=_COLUMNS["kept_if_empty"])
        if geometries[row.line] is None and _points(site) == _points(before):
            site = keep_held(site, before, row, _COLUMNS["of_its_point"])
        return row.line, site

    found, refused = records_of(
        (row for row, _ in rows),
        site_of,
        refused,
        named=lambda row: ("locationID", text(row, "locationID")),
    )
    wrong = misplaced_sites(found, area=area, zone=zone, known=known)
    lines = {row.line for row in wrong}
    if not twins:
        placed = [(line, site) for line, site in found if line not in lines]
        wrong += twin_sites(placed, known=known)
        lines = {row.line for row in wrong}
    refused.extend(wrong)
    sites = [site for line, site in found if line not in lines]
    return sites, sorted(refused, key=lambda row: row.line)


def _shape(written: str) -> str:
    """How an identifier is written, whatever its letters and numbers: "a-9" of LNT-02."""
    return re.sub(r"\d+", "9", re.sub(r"[^\W\d_]+", "a", written))


def _refuse_exchanged_name(
    row: TableRow, shapes: Mapping[str, int], names: Mapping[str, int]
) -> None:
    """A name among identifiers with numbers, and such an identifier where the name belongs."""
    mine, name = text(row, "locationID"), text(row, "locality")
    numbered = "9" in _shape(name) and "9" not in _shape(mine)
    if numbered and shapes[_shape(name)] and shapes[_shape(mine)] == names[_shape(name)] == 1:
        raise CellError("locationID", f"'{mine}' and '{name}' seem exchanged. Correct the row.")


def _points(site: Site | None) -> tuple[float, float] | None:
    return None if site is None else (site.decimal_latitude, site.decimal_longitude)


def _site(row: TableRow, geometry: dict[str, Any] | None) -> Site:
    location_id = identifier(row, "locationID", required=True)
    if text(row, "geodeticDatum", longest=100).casefold() not in _SAME_DATUM:
        raise CellError(
            "geodeticDatum", "Positions must be in EPSG:4326 (WGS 84). Convert them first."
        )
    if location_id in (row.cells.get("decimalLatitude"), row.cells.get("decimalLongitude")):
        raise CellError("locationID", f"{location_id} is a coordinate. Give the site's identifier.")
    words(row, "verbatimLocality")
    row = _without_units(row)
    latitude, longitude = _position(row)
    if re.fullmatch(r"[1-9]\d{0,2}[.,]\d{3}", row.cells.get("coordinateUncertaintyInMeters", "")):
        written = row.cells["coordinateUncertaintyInMeters"]
        raise CellError(
            "coordinateUncertaintyInMeters",
            f"'{written}' can be read in two ways. Write its digits alone, in metres.",
        )
    uncertainty = number(
        row, "coordinateUncertaintyInMeters", least=LEAST_UNCERTAINTY, most=MOST_UNCERTAINTY
    )
    footprint = ""
    if geometry is not None or text(row, "footprintWKT", longest=10_000_000):
        footprint, latitude, longitude, radius = _footprint(row, geometry, latitude, longitude)
        uncertainty = uncertainty or (radius and max(radius, DEFAULT_UNCERTAINTY_IN_METERS))
    if latitude is None or longitude is None:
        raise CellError("decimalLatitude", "The site has no position. Give it one.")
    return Site(
        location_id=location_id,
        locality=" ".join(words(row, "locality", longest=500).split()) or location_id,
        aliases=listed(row, "verbatimLocality"),
        decimal_latitude=latitude,
        decimal_longitude=longitude,
        coordinate_uncertainty_in_meters=uncertainty
        or round(DEFAULT_UNCERTAINTY_IN_METERS + digits_uncertainty(latitude, longitude), 1),
        footprint_wkt=footprint,
        water_body=words(row, "waterBody", longest=500),
        habitat=words(row, "habitat", longest=500),
        private=yes_or_no(row, "private"),
        sensitivity=category(row, "sensitivity"),
        location_remarks=text(row, "locationRemarks"),
    )


def _position(row: TableRow) -> tuple[float | None, float | None]:
    latitude = number(row, "decimalLatitude", least=-180, most=180)
    longitude = number(row, "decimalLongitude", least=-180, most=180)
    if (latitude is None) != (longitude is None):
        empty = "decimalLatitude" if latitude is None else "decimalLongitude"
        raise CellError(empty, "One half of the position is missing. Give both or neither.")
    if latitude is None or longitude is None:
        return None, None
    if abs(latitude) > 90:
        swapped = " Latitude and longitude seem to be swapped." if abs(longitude) <= 90 else ""
        raise CellError("decimalLatitude", f"{latitude:g} is outside -90 to 90.{swapped}")
    if latitude == 0 and longitude == 0:
        raise CellError("decimalLatitude", "0, 0 stands for a missing position. Give the real one.")
    if not re.search("[.,]", row.cells["decimalLatitude"] + row.cells["decimalLongitude"]):
        raise CellError(
            "decimalLatitude", "The position has whole degrees alone. Give it with its decimals."
        )
    return latitude, longitude


def _without_units(row: TableRow) -> TableRow:
    """The row without degree signs, letters of the compass and m for metres: "1.30 W", "30 m"."""
    cells = dict(row.cells)
    uncertainty = re.fullmatch(
        r"(\d+(?:[.,]\d+)?) ?m", cells.get("coordinateUncertaintyInMeters", "")
    )
    if uncertainty:
        cells["coordinateUncertaintyInMeters"] = uncertainty[1]
    for column, positive, negative in (
        ("decimalLatitude", "N", "S"),
        ("decimalLongitude", "E", "W"),
    ):
        found = re.fullmatch(
            rf"([{positive}{negative}]?)\s*([+-]?)(\d+[.,]\d+)\s*[°º]?\s*([{positive}{negative}]?)",
            cells.get(column, ""),
        )
        if found and sum(map(bool, (found[1], found[2], found[4]))) < 2:
            sign = "-" if negative in (found[1], found[4]) else found[2]
            # No degree has thousands: a comma in it is that of decimals, whatever parts the cells.
            cells[column] = sign + found[3].replace(",", ".")
    return replace(row, cells=_in_decimals(cells))


def _in_decimals(cells: dict[str, str]) -> dict[str, str]:
    """The cells with degrees, minutes and seconds in decimals, where letters name both axes."""
    latitude, longitude = (cells.get(f"decimal{axis}", "") for axis in ("Latitude", "Longitude"))
    if not (re.search(r"[NS]", latitude) and re.search(r"[EW]", longitude)):
        return cells  # an O is east in German and west in Italian
    from triage.metadata.text_coordinates import find_coordinates

    pair = f"{latitude} {longitude}"
    claims, spans = find_coordinates(pair)
    if len(claims) != 1 or spans[0] != (0, len(pair)):
        return cells
    (found,) = claims
    read = {
        "decimalLatitude": f"{found.decimal_latitude:.7f}",
        "decimalLongitude": f"{found.decimal_longitude:.7f}",
    }
    if not cells.get("coordinateUncertaintyInMeters"):  # of whole minutes nearly two kilometres
        read["coordinateUncertaintyInMeters"] = f"{found.coordinate_uncertainty_in_meters}"
    return cells | read


def _footprint(
    row: TableRow, geometry: dict[str, Any] | None, latitude: float | None, longitude: float | None
) -> tuple[str, float, float, float]:
    import shapely

    column = "footprintWKT" if geometry is None else "geometry"
    try:
        written = text(row, "footprintWKT", longest=10_000_000)
        shape = read_footprint(
            re.sub(r"^SRID=4326;", "", written) if geometry is None else geometry
        )
    except ValueError as error:
        raise CellError(column, str(error)) from error
    centre_latitude, centre_longitude, radius = point_of_footprint(shape)
    if latitude is not None and longitude is not None:
        places = shapely.get_coordinates(shape)
        away = geodesy.distances(latitude, longitude, places[:, 1], places[:, 0])
        gap = 0.0 if shape.covers(shapely.Point(longitude, latitude)) else float(away.min())
        if gap > POINT_OFF_FOOTPRINT_IN_METERS:
            raise CellError(
                column,
                f"The shape lies {gap / 1000:.0f} km from the site's own point. "
                "Longitude stands before latitude in a shape.",
            )
        centre_latitude, centre_longitude, radius = latitude, longitude, float(away.max())
    footprint = "" if shape.geom_type == "Point" else shapely.to_wkt(shape, rounding_precision=8)
    return footprint, centre_latitude, centre_longitude, radius


def _features(
    path: Path,
) -> tuple[list[tuple[TableRow, dict[str, Any] | None]], list[RefusedRow]]:
    raw = read_bytes(path)
    try:
        document = json.loads(raw.decode("utf-8-sig"), parse_constant=_no_constant)
    except (ValueError, RecursionError) as error:
        raise TableError(
            f"the file is not JSON in UTF-8 ({str(error)[:100]})",
            failing=str(path),
            next_step="Export the sites again as GeoJSON.",
        ) from error
    kind = document.get("type") if isinstance(document, dict) else None
    features = [document] if kind == "Feature" else None
    if kind == "FeatureCollection" and isinstance(document.get("features"), list):
        features = document["features"]
    if features is None:
        raise TableError(
            "the file is not a GeoJSON Feature or FeatureCollection",
            failing=str(path),
            next_step="Export the sites again as GeoJSON, each site as one feature.",
        )
    rows: list[tuple[TableRow, dict[str, Any] | None]] = []
    refused: list[RefusedRow] = []
    for position, feature in enumerate(features, start=1):
        properties = feature.get("properties") if isinstance(feature, dict) else None
        geometry = feature.get("geometry") if isinstance(feature, dict) else None
        if not isinstance(properties, dict) or not isinstance(geometry, dict):
            reason = "The feature lacks properties or a geometry. Give it both."
            refused.append(RefusedRow(line=position, column="geometry", reason=reason))
            continue
        row = _feature_row(position, properties, feature.get("id"))
        row.cells["geometry"] = json.dumps(geometry, sort_keys=True)
        rows.append((row, geometry))
    return rows, refused


def _no_constant(name: str) -> float:
    raise ValueError(f"{name} is no number")


def _feature_row(position: int, properties: dict[str, Any], identifier: object) -> TableRow:
    by_key = {name.casefold(): name for name in (*_COLUMNS["required"], *_COLUMNS["optional"])}
    cells = {
        by_key.get(str(name).casefold(), str(name)): _cell(value)
        for name, value in properties.items()
    }
    if not cells.get("locationID") and isinstance(identifier, str | int):
        cells["locationID"] = str(identifier)
    return TableRow(line=position, cells=cells)


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return " | ".join(str(part) for part in value)
    if isinstance(value, float) and math.isfinite(value):
        return repr(value)
    return str(value).strip()
