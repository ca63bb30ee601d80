"""What was seen in photos in, rows out: examinations, corrections, copies and bursts; and back."""

from __future__ import annotations

import dataclasses
import json
import sqlite3
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from triage.duplicates import PhotoLink, PixelKeys
from triage.errors import UnknownError
from triage.metadata.exif import ExifRecord
from triage.photos import Photo
from triage.quality import Measurement
from triage.store.connection import Survey, portions

# As the indexes of the schema have them, letter by letter.
CAPTURED_DAY = "substr(json_extract(exif, '$.date_time_original'), 1, 10)"
LATITUDE = "json_extract(exif, '$.gps_latitude')"
LONGITUDE = "json_extract(exif, '$.gps_longitude')"


@dataclass(frozen=True, slots=True, kw_only=True)
class AppearanceRow:
    """A photo in a message: who sent it, when, under which file name."""

    part: int
    message: int
    photo: str
    file_name: str
    path: str
    envelope: int
    person: int | None
    sent_at: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PhotoRow:
    """A photo as the survey knows it, its newest measurement with live corrections applied."""

    photo: Photo
    phash: str
    content_phash: str
    exif: ExifRecord
    measurement: Measurement | None
    colours: tuple[float, ...]
    corrected: tuple[str, ...]
    publication: str


def not_examined_with(survey: Survey, method: str) -> list[str]:
    """Digests of photos taken in and not examined with this method, in order of arrival."""
    rows = survey.connection.execute(
        "select a.photo from photos p join appearances a on a.photo = p.sha256"
        " where (p.examined_with < ? or p.examined_with > ?) group by a.photo order by min(a.id)",
        (method, method),
    )
    return [row[0] for row in rows]


def examined_with(survey: Survey, photos: Iterable[str]) -> dict[str, str]:
    """What each of these photos was last examined with, empty for never."""
    rows = _where_in(
        survey, "select sha256, examined_with from photos", "sha256", photos, order="sha256"
    )
    return {row["sha256"]: row["examined_with"] for row in rows}


def save_examination(
    survey: Survey,
    photo: Photo,
    exif: ExifRecord,
    measurement: Measurement | None,
    *,
    keys: PixelKeys | None,
    colours: Sequence[float],
    problem: str,
    examined_with: str,
) -> None:
    """Write what one photo says by itself; links are computed anew when its hash changed."""
    run = survey.connection.execute
    phash = keys.phash if keys else ""
    run(
        "update photos set format = ?, width = ?, height = ?, orientation = ?, phash = ?,"
        " content_phash = ?, local_features = ?, exif = ?, problem = ?, examined_with = ?,"
        " linked_with = case when phash = ? then linked_with else '' end where sha256 = ?",
        (
            photo.format,
            photo.width,
            photo.height,
            photo.orientation,
            phash,
            keys.content_phash if keys else "",
            keys.local_features if keys else b"",
            exif_text(exif),
            problem,
            examined_with,
            phash,
            photo.sha256,
        ),
    )
    if measurement is None:
        return
    values = dataclasses.asdict(measurement)
    values.update(
        photo=photo.sha256,
        box=json.dumps(measurement.box),
        body_box=json.dumps(measurement.body_box),
        other_boxes=json.dumps(measurement.other_boxes),
        reasons=json.dumps(measurement.reasons, ensure_ascii=False),
        colours=json.dumps(list(colours)),
    )
    names = list(values)
    run(
        f"insert or replace into measurements ({', '.join(names)})"
        f" values ({', '.join('?' * len(names))})",
        [values[name] for name in names],
    )


def exif_text(exif: ExifRecord) -> str:
    """An ExifRecord as JSON text."""
    values = dataclasses.asdict(exif)
    values["gps_instant"] = exif.gps_instant.isoformat() if exif.gps_instant else None
    return json.dumps(values, ensure_ascii=False, sort_keys=True)


def exif_from_text(text: str) -> ExifRecord:
    """The ExifRecord that was kept; fields of another version are left out."""
    values = json.loads(text)
    fields = {field.name for field in dataclasses.fields(ExifRecord)}
    values = {name: value for name, value in values.items() if name in fields}
    if values.get("gps_instant"):
        values["gps_instant"] = datetime.fromisoformat(values["gps_instant"])
    values = {k: tuple(v) if isinstance(v, list) else v for k, v in values.items()}
    return ExifRecord(**values)


def appearances(survey: Survey, photos: Iterable[str] | None = None) -> list[AppearanceRow]:
    """All appearances, or those of the given photos, in order of arrival."""
    query = "select * from appearances"
    rows = _where_in(survey, query, "photo", photos, order="id")
    return [
        AppearanceRow(
            part=row["id"],
            message=row["message_id"],
            photo=row["photo"],
            file_name=row["file_name"],
            path=row["path"],
            envelope=row["envelope"],
            person=row["person_id"],
            sent_at=row["sent_at"] or "",
        )
        for row in rows
    ]


def load(survey: Survey, photos: Iterable[str] | None = None) -> dict[str, PhotoRow]:
    """Photos that were taken in, by digest."""
    wanted = None if photos is None else list(photos)
    measured: dict[str, sqlite3.Row] = {}
    for row in _where_in(survey, "select * from measurements", "photo", wanted, order="rowid"):
        measured[row["photo"]] = row
    corrections: dict[str, dict[str, str]] = {}
    query = "select c.* from corrections c join live_actions a on a.id = c.action_id"
    for row in _where_in(survey, query, "c.photo", wanted, order="c.id"):
        corrections.setdefault(row["photo"], {})[row["field"]] = row["value"]
    for photo, view in _views_of_copies(survey, wanted).items():
        corrections.setdefault(photo, {})["view"] = view
    found = {}
    query = (
        "select sha256, format, width, height, orientation, byte_size, phash, content_phash, exif,"
        " problem from photos"
    )
    for row in _where_in(survey, query, "sha256", wanted, order="sha256"):
        sha256 = row["sha256"]
        corrected = corrections.get(sha256, {})
        measurement_row = measured.get(sha256)
        found[sha256] = PhotoRow(
            photo=Photo(
                sha256=sha256,
                format=row["format"],
                width=row["width"],
                height=row["height"],
                orientation=row["orientation"],
                byte_size=row["byte_size"],
                problem=row["problem"],
            ),
            phash=row["phash"],
            content_phash=row["content_phash"],
            exif=exif_from_text(row["exif"]),
            measurement=_corrected(_measurement(measurement_row), corrected)
            if measurement_row is not None
            else None,
            colours=tuple(json.loads(measurement_row["colours"])) if measurement_row else (),
            corrected=tuple(sorted(set(corrected) - {"publication"})),
            publication=corrected.get("publication", ""),
        )
    return found


def _views_of_copies(survey: Survey, wanted: list[str] | None) -> dict[str, str]:
    """The newest view that a person gave to any copy of a photo: one exposure has one view."""
    query = (
        "select g.photo, c.value from corrections c"
        " join live_actions a on a.id = c.action_id and c.field = 'view'"
        " join photo_groups h on h.photo = c.photo and h.kind = 'copy'"
        " join photo_groups g on g.group_identifier = h.group_identifier and g.kind = 'copy'"
    )
    rows = _where_in(survey, query, "g.photo", wanted, order="c.id")
    return {row["photo"]: row["value"] for row in rows}


def add_correction(survey: Survey, photo: str, field: str, value: str, *, action: int) -> None:
    """Append a person's correction of view or box, or a clearance for publication."""
    survey.connection.execute(
        "insert into corrections (photo, field, value, action_id) values (?, ?, ?, ?)",
        (photo, field, value, action),
    )


def live_corrections(survey: Survey, field: str) -> dict[str, str]:
    """The newest live correction of one field, by photo."""
    rows = survey.connection.execute(
        "select c.photo, c.value from corrections c join live_actions a on a.id = c.action_id"
        " where c.field = ? order by c.id",
        (field,),
    )
    return {row["photo"]: row["value"] for row in rows}


def measured_features(survey: Survey, photos: Iterable[str]) -> dict[str, bytes]:
    """The numbers kept for learning, by photo."""
    rows = _where_in(
        survey, "select photo, features from measurements", "photo", photos, order="rowid"
    )
    return {row["photo"]: row["features"] for row in rows}


def hashed(survey: Survey, *, linked: bool, method: str) -> list[str]:
    """Digests of photos with a hash that have, or have not, been linked with this method."""
    where = "p.linked_with = ?" if linked else "(p.linked_with < ? or p.linked_with > ?)"
    rows = survey.connection.execute(
        f"select p.sha256 from photos p where p.phash <> '' and {where}"
        " and exists (select 1 from parts a where a.sha256 = p.sha256 and a.outcome = 'taken in')"
        " order by p.sha256",
        (method,) if linked else (method, method),
    )
    return [row[0] for row in rows]


def count_linked(survey: Survey, method: str) -> int:
    """How many photos have been linked with this method."""
    query = "select count(*) from photos where linked_with = ?"
    return int(survey.connection.execute(query, (method,)).fetchone()[0])


def hashes_of_linked(survey: Survey, method: str) -> Iterator[tuple[str, str, str]]:
    """Digest, hash and hash without borders of every photo linked with this method."""
    for row in survey.connection.execute(
        "select sha256, phash, content_phash from photos where linked_with = ? and phash <> ''",
        (method,),
    ):
        yield row[0], row[1], row[2]


def search_keys(survey: Survey, photos: Iterable[str]) -> list[sqlite3.Row]:
    """What the search for copies keeps of photos: hashes, features, and where they came from."""
    found: list[sqlite3.Row] = []
    for portion in portions(photos):
        marks = ",".join("?" * len(portion))
        found += survey.connection.execute(
            "select p.sha256, p.width, p.height, p.byte_size, p.phash, p.content_phash,"
            " p.local_features, p.exif, (select person_id from appearances a where"
            " a.photo = p.sha256 order by a.id limit 1) as person_id, (select colours from"
            " measurements m where m.photo = p.sha256 order by m.rowid desc limit 1) as colours"
            f" from photos p where p.sha256 in ({marks})",
            portion,
        ).fetchall()
    return found


def of_senders(
    survey: Survey, people: Iterable[int], *, limit: int, undated: bool = False
) -> set[str]:
    """Photos that these people sent, the latest of each first, so many of each at most.

    With ``undated`` only those whose files do not say when they were taken.
    """
    dateless = (
        f" and exists (select 1 from photos where {CAPTURED_DAY} = '' and photos.sha256 = p.sha256)"
    )
    where = f"p.outcome = 'taken in'{dateless if undated else ''}"
    found: set[str] = set()
    for person in people:
        for query in (
            "select p.sha256 from messages m join parts p on p.message_id = m.id"
            f" where m.sender_id = ? and {where} order by m.id desc limit ?",
            "select p.sha256 from envelopes e join parts p on p.message_id = e.message_id"
            f" and p.envelope = e.number where e.person_id = ? and e.number > 0 and {where}"
            " order by e.message_id desc limit ?",
        ):
            found.update(row[0] for row in survey.connection.execute(query, (person, limit)))
    return found


def of_days(survey: Survey, days: Iterable[str]) -> set[str]:
    """Photos whose files say that they were taken on these days."""
    found: set[str] = set()
    for day in days:
        found.update(
            row[0]
            for row in survey.connection.execute(
                f"select sha256 from photos where {CAPTURED_DAY} = ?", (day,)
            )
        )
    return found


def of_places(
    survey: Survey,
    boxes: Iterable[tuple[float, float, float, float]],
    *,
    limit: int,
    undated: bool = False,
) -> set[str]:
    """Photos whose files place them in these boxes of south, west, north, east; at most so many.

    With ``undated`` only those whose files do not say when they were taken.
    """
    dateless = f" and {CAPTURED_DAY} = ''" if undated else ""
    found: set[str] = set()
    for south, west, north, east in boxes:
        found.update(
            row[0]
            for row in survey.connection.execute(
                f"select sha256 from photos where {LATITUDE} between ? and ?"
                f" and {LONGITUDE} between ? and ?{dateless} limit ?",
                (south, north, west, east, limit),
            )
        )
    return found


def forget_links(survey: Survey, photos: Iterable[str]) -> set[str]:
    """Drop the links of photos that are to be compared anew; returns the other ends."""
    links = links_among(survey, photos)
    survey.connection.executemany(
        "delete from photo_links where first = ? and second = ? and kind = ?",
        [(link.first, link.second, link.kind) for link in links],
    )
    return {end for link in links for end in (link.first, link.second)}


def save_links(
    survey: Survey, links: Iterable[PhotoLink], *, photos: Iterable[str], method: str
) -> None:
    """Write new links and note that these photos were linked."""
    survey.connection.executemany(
        "insert or ignore into photo_links values (?, ?, ?, ?, ?, ?)",
        [
            (
                link.first,
                link.second,
                link.kind,
                link.evidence,
                link.picture_share_first,
                link.picture_share_second,
            )
            for link in links
        ],
    )
    survey.connection.executemany(
        "update photos set linked_with = ? where sha256 = ?", [(method, p) for p in photos]
    )


def links_among(survey: Survey, photos: Iterable[str]) -> list[PhotoLink]:
    """Links that touch the given photos."""
    wanted = sorted(set(photos))
    found: dict[tuple[str, str, str], PhotoLink] = {}
    for column in ("first", "second"):
        for row in _where_in(survey, "select * from photo_links", column, wanted, order="first"):
            key = (row["first"], row["second"], row["kind"])
            found[key] = PhotoLink(
                kind=row["kind"],
                first=row["first"],
                second=row["second"],
                evidence=row["evidence"],
                picture_share_first=row["picture_share_first"],
                picture_share_second=row["picture_share_second"],
            )
    return [found[key] for key in sorted(found)]


def save_groups(
    survey: Survey, kind: str, groups: Iterable[tuple[str, Sequence[str], str]], photos: set[str]
) -> None:
    """Replace the groups of one kind that these photos are in: identifier, members, best."""
    survey.connection.executemany(
        "delete from photo_groups where kind = ? and photo = ?",
        [(kind, photo) for photo in sorted(photos)],
    )
    survey.connection.executemany(
        "insert or replace into photo_groups (photo, kind, group_identifier, best)"
        " values (?, ?, ?, ?)",
        [
            (member, kind, identifier, int(member == best))
            for identifier, members, best in groups
            for member in members
        ],
    )


def groups(survey: Survey, kind: str) -> dict[str, tuple[str, bool]]:
    """By photo: its group of this kind, and whether it is the best of it."""
    rows = survey.connection.execute(
        "select photo, group_identifier, best from photo_groups where kind = ?", (kind,)
    )
    return {row["photo"]: (row["group_identifier"], bool(row["best"])) for row in rows}


def groups_of(survey: Survey, kind: str, photos: Iterable[str]) -> dict[str, tuple[str, bool]]:
    """As :func:`groups`, of these photos and of everything that shares a group with them."""
    found = {}
    query = "select distinct group_identifier from photo_groups"
    identifiers = [
        row[0]
        for portion in portions(photos)
        for row in survey.connection.execute(
            f"{query} where kind = ? and photo in ({','.join('?' * len(portion))})",
            [kind, *portion],
        )
    ]
    for portion in portions(identifiers):
        marks = ",".join("?" * len(portion))
        for row in survey.connection.execute(
            "select photo, group_identifier, best from photo_groups"
            f" where kind = ? and group_identifier in ({marks})",
            [kind, *portion],
        ):
            found[row["photo"]] = (row["group_identifier"], bool(row["best"]))
    return found


def find(survey: Survey, text: str) -> str:
    """The digest of the photo taken in that begins with these digits.

    Raises
    ------
    UnknownError
        If none or several match.
    """
    begins = text.lower()
    found = [
        row[0]
        for row in survey.connection.execute(
            "select distinct photo from appearances where photo between ? and ? limit 9",
            (begins, begins + "~"),
        )
    ]
    if len(found) != 1:
        raise UnknownError(
            "there is no such photo" if not found else f"{len(found)} photos or more begin so",
            failing=text,
            next_step="Give more digits of the digest that 'triage sightings' shows.",
        )
    return str(found[0])


def _measurement(row: sqlite3.Row) -> Measurement:
    values = {field.name: row[field.name] for field in dataclasses.fields(Measurement)}
    values["box"] = tuple(json.loads(values["box"]))
    body_box = json.loads(values["body_box"])
    values["body_box"] = tuple(body_box) if body_box else None
    values["other_boxes"] = tuple(tuple(box) for box in json.loads(values["other_boxes"]))
    values["reasons"] = tuple(json.loads(values["reasons"]))
    return Measurement(**values)


def _corrected(measurement: Measurement, corrected: dict[str, str]) -> Measurement:
    """A person's word on view and box stands above the measured one."""
    if "view" in corrected:
        view = corrected["view"]
        chances = {
            f"p_{name}": float(name == view)
            for name in ("dorsal", "lateral", "anterior", "oblique", "other")
        }
        measurement = dataclasses.replace(measurement, view=view, **chances)  # type: ignore[arg-type]
    if "box" in corrected:
        box = tuple(json.loads(corrected["box"]))
        measurement = dataclasses.replace(measurement, box=box)
    return measurement


def _where_in(
    survey: Survey, query: str, column: str, values: Iterable[str] | None, *, order: str
) -> list[sqlite3.Row]:
    """Run a query for the given values of a column, in portions that SQLite accepts."""
    if values is None:
        return survey.connection.execute(f"{query} order by {order}").fetchall()
    rows: list[sqlite3.Row] = []
    for portion in portions(values):
        marks = ",".join("?" * len(portion))
        rows += survey.connection.execute(
            f"{query} where {column} in ({marks}) order by {order}", portion
        ).fetchall()
    return rows
