"""What was seen in photos in, rows out: examinations, corrections, copies and bursts; and back."""

from __future__ import annotations

import dataclasses
import json
import sqlite3
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from triage.duplicates import PhotoLink, PixelKeys
from triage.metadata.exif import ExifRecord
from triage.photos import Photo
from triage.quality import Measurement
from triage.store.connection import Survey


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
    local_features: bytes
    exif: ExifRecord
    measurement: Measurement | None
    colours: tuple[float, ...]
    corrected: tuple[str, ...]
    publication: str


def not_examined_with(survey: Survey, method: str) -> list[str]:
    """Digests of photos taken in and not examined with this method, in order of arrival."""
    rows = survey.connection.execute(
        "select a.photo from appearances a join photos p on p.sha256 = a.photo"
        " where p.examined_with <> ? group by a.photo order by min(a.id)",
        (method,),
    )
    return [row[0] for row in rows]


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
    found = {}
    query = "select * from photos"
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
            local_features=row["local_features"],
            exif=exif_from_text(row["exif"]),
            measurement=_corrected(_measurement(measurement_row), corrected)
            if measurement_row is not None
            else None,
            colours=tuple(json.loads(measurement_row["colours"])) if measurement_row else (),
            corrected=tuple(sorted(set(corrected) - {"publication"})),
            publication=corrected.get("publication", ""),
        )
    return found


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
    sign = "=" if linked else "<>"
    rows = survey.connection.execute(
        f"select p.sha256 from photos p where p.phash <> '' and p.linked_with {sign} ?"
        " and exists (select 1 from parts a where a.sha256 = p.sha256 and a.outcome = 'taken in')"
        " order by p.sha256",
        (method,),
    )
    return [row[0] for row in rows]


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


def group_evidence(survey: Survey, photo: str) -> str:
    """Why a photo was joined to its copies."""
    row = survey.connection.execute(
        "select evidence from photo_links where kind = 'copy' and ? in (first, second) limit 1",
        (photo,),
    ).fetchone()
    return row[0] if row else ""


def _measurement(row: sqlite3.Row) -> Measurement:
    values = {field.name: row[field.name] for field in dataclasses.fields(Measurement)}
    values["box"] = tuple(json.loads(values["box"]))
    values["body_box"] = tuple(json.loads(values["body_box"]))
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
    wanted = list(dict.fromkeys(values))
    rows: list[sqlite3.Row] = []
    for start in range(0, len(wanted), 500):
        portion = wanted[start : start + 500]
        marks = ",".join("?" * len(portion))
        rows += survey.connection.execute(
            f"{query} where {column} in ({marks}) order by {order}", portion
        ).fetchall()
    return rows
