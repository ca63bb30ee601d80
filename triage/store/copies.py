"""Load fingerprints of photos to compare; keep links and groups of copies and bursts."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from triage.duplicates import Fingerprint, PhotoLink, PixelKeys, fingerprint_of
from triage.duplicates.candidates import sketch_of
from triage.duplicates.neighbourhood import VAGUE_METRES, Box, KnownHashes
from triage.photos import Photo
from triage.standards.groups import in_groups
from triage.store.connection import Survey
from triage.store.photos import appearances, colours_of, exif_of
from triage.store.rows import derived_or_holds, holds, record_of, values_of

# As the indexes of the schema have them, letter by letter.
CAPTURED_DAY = "substr(json_extract(exif, '$.date_time_original'), 1, 10)"
LATITUDE = "json_extract(exif, '$.gps_latitude')"
LONGITUDE = "json_extract(exif, '$.gps_longitude')"

# Of claims: what people say of a photo's place, and what its file says and cannot be relied on.
_DOUBTED = (  # but not because the mail names a place some metres off, as most do
    "doubts <> '[]' and (doubts glob '*\", \"*' or doubts not glob '[[]\"[0-9]* m from *\"]')"
)
_UNSURE = (  # as the index of the schema has it, letter by letter
    "(action_id is not null or source = 'sender''s answer' or source = 'camera gps'"
    f" and (coordinate_uncertainty_in_meters > {VAGUE_METRES} or {_DOUBTED}))"
)
_SAID = f"(action_id is null and source = 'sender''s answer' or {holds()})"
_TAKEN_IN = "exists (select 1 from parts a where a.sha256 = p.sha256 and a.outcome = 'taken in')"


def linked(survey: Survey, method: str) -> list[str]:
    """Digests of photos with a hash that have been linked with this method."""
    return survey.column(
        f"select p.sha256 from photos p where p.phash <> '' and p.linked_with = ? and {_TAKEN_IN}"
        " order by p.sha256",
        method,
    )


def not_linked(survey: Survey, method: str) -> list[str]:
    """Digests of photos with a hash that have not been linked with this method."""
    # Put in order here: SQLite would walk through all photos in the order asked for.
    return sorted(
        survey.column(
            "select p.sha256 from photos p where p.phash <> ''"
            f" and (p.linked_with < ?1 or p.linked_with > ?1) and {_TAKEN_IN}",
            method,
        )
    )


def count_linked(survey: Survey, method: str, *, most: int) -> int:
    """How many photos have been linked with this method; beyond so many nobody counts."""
    return survey.count("(select 1 from photos where linked_with = ? limit ?)", method, most)


def hashes_of_linked(survey: Survey, method: str) -> KnownHashes:
    """The hashes of every photo linked with this method, with and without borders."""
    whole, hashes, bordered, inner = survey.row(
        "select group_concat(sha256, ''), group_concat(phash, ''),"
        " group_concat(iif(content_phash = '', '', sha256), ''), group_concat(content_phash, '')"
        " from photos where linked_with = ? and phash <> ''",
        method,
    )
    return KnownHashes((whole or "") + (bordered or ""), (hashes or "") + (inner or ""))


def fingerprints(survey: Survey, wanted: Iterable[str]) -> dict[str, Fingerprint]:
    """What the search for copies needs of each photo, the first sender included."""
    query = (
        "select p.*, (select colours from measurements m where m.photo = p.sha256"
        " order by m.rowid desc limit 1) as colours from photos p where p.sha256 in (...)"
    )
    rows = survey.run_in(query, wanted)
    photos = [row["sha256"] for row in rows]
    senders, places = _first_senders(survey, photos), _places_said(survey, photos)
    found = {
        row["sha256"]: fingerprint_of(
            record_of(Photo, row),
            exif_of(row),
            PixelKeys(*(row[name] for name in PixelKeys._fields)),
            sender=senders.get(row["sha256"], ""),
            colours=colours_of(row),
        )
        for row in rows
    }
    for photo, (latitude, longitude, radius) in places.items():
        found[photo] = replace(
            found[photo],
            decimal_latitude=latitude,
            decimal_longitude=longitude,
            coordinate_uncertainty_in_meters=radius,
        )
    return found


def narrowing_prints(
    survey: Survey, wanted: Iterable[str], *, senders: bool
) -> dict[str, Fingerprint]:
    """Of each photo only what narrows the search: hashes, features, time, place, senders if asked.

    Whole fingerprints take three times as long to load, and few of them are looked at.
    """
    query = (
        "select sha256, phash, content_phash, local_features,"
        f" json_extract(exif, '$.date_time_original') as captured, {LATITUDE} as decimal_latitude,"
        f" {LONGITUDE} as decimal_longitude from photos where sha256 in (...)"
    )
    rows = survey.run_in(query, wanted)
    first = _first_senders(survey, [row["sha256"] for row in rows]) if senders else {}
    return {
        row["sha256"]: record_of(Fingerprint, row, sender=first.get(row["sha256"], ""))
        for row in rows
    }


def sketched_prints(survey: Survey, senders: Mapping[str, str]) -> dict[str, Fingerprint]:
    """Of each photo its sketch and the sender given; photos without a sketch are left out."""
    query = "select photo, words from photo_sketches where photo in (...)"
    return {
        photo: Fingerprint(sha256=photo, sender=senders[photo], sketch=words)
        for photo, words in survey.run_in(query, senders)
    }


def save_sketches(survey: Survey, prints: Iterable[Fingerprint]) -> None:
    """Keep the sketches of photos whose local features are at hand."""
    survey.run_each(
        "insert or replace into photo_sketches (photo, words) values (?, ?)",
        [(one.sha256, sketch_of(one.local_features)) for one in prints],
    )


def local_features(survey: Survey, photos: Iterable[str]) -> dict[str, bytes]:
    """By photo: its packed local features."""
    query = "select sha256, local_features from photos where sha256 in (...)"
    return dict(survey.run_in(query, photos))


def _places_said(
    survey: Survey, photos: Iterable[str]
) -> dict[str, tuple[float | None, float | None, float]]:
    """By photo: the place that people said, with its radius; no place where its file's is doubted.

    What stands as its file states it is left out.
    """
    query = (
        "select photo, decimal_latitude, decimal_longitude, coordinate_uncertainty_in_meters,"
        f" {_SAID} as said from place_claims where photo in (...) and ({_SAID} or"
        f" action_id is null and source = 'camera gps' and {_DOUBTED})"
        " order by said, coalesce(action_id, 0), id"
    )
    return {
        row[0]: (row[1], row[2], row[3] or 0.0) if row["said"] else (None, None, 0.0)
        for row in survey.run_in(query, photos)
    }


def _first_senders(survey: Survey, photos: Iterable[str]) -> dict[str, str]:
    """By photo: who sent it first, or took it; photos of nobody are left out."""
    return {one.photo: str(one.person or "") for one in reversed(appearances(survey, photos))}


def of_senders(
    survey: Survey, people: Iterable[int], *, limit: int, undated: bool = False
) -> dict[str, set[int]]:
    """Photos that these people sent, the latest of each first, so many of each at most: by whom.

    With ``undated`` only those whose files do not say when they were taken.
    """
    dateless = (  # from its index: a photo's row is long, and what is asked lies at its end
        " and exists (select 1 from photos indexed by photos_undated"
        f" where {CAPTURED_DAY} = '' and photos.sha256 = p.sha256)"
    )
    where = f"p.outcome = 'taken in'{dateless if undated else ''}"
    queries = (
        "select p.sha256 from messages m join parts p on p.message_id = m.id"
        f" where m.sender_id = ? and {where} order by m.id desc limit ?",
        "select p.sha256 from envelopes e join parts p on p.message_id = e.message_id"
        f" and p.envelope = e.number where e.person_id = ? and e.number > 0 and {where}"
        " order by e.message_id desc limit ?",
    )
    sent = in_groups(
        (photo, person)
        for person in people
        for query in queries
        for photo in survey.column(query, person, limit)
    )
    return {photo: set(senders) for photo, senders in sent.items()}


def of_days(survey: Survey, days: Iterable[str]) -> set[str]:
    """Photos whose files say that they were taken on these days."""
    return survey.column_in(f"select sha256 from photos where {CAPTURED_DAY} in (...)", days)


def of_days_at(survey: Survey, days: Iterable[tuple[str, Box]]) -> set[str]:
    """Photos of a day whose files place them in its box, nowhere, or nowhere to be relied on."""
    query = (
        f"select sha256 from photos where {CAPTURED_DAY} = ? and {LATITUDE} between ? and ?"
        f" and {LONGITUDE} between ? and ?"
    )
    nowhere = (
        f"select p.sha256 from photos p where {CAPTURED_DAY} = ? and ({LATITUDE} is null or exists"
        " (select 1 from place_claims c indexed by place_claims_unsure where c.photo = p.sha256"
        f" and {_UNSURE} and {derived_or_holds()}))"
    )
    asked = dict(in_groups(days))
    found = {photo for day in asked for photo in survey.column(nowhere, day)}
    for day, boxes in asked.items():
        for south, west, north, east in boxes:
            found |= {*survey.column(query, day, south, north, west, east)}
    return found


def of_places(
    survey: Survey, boxes: Iterable[Box], *, limit: int, undated: bool = False
) -> set[str]:
    """Photos whose files place them in these boxes; of each box at most so many.

    With ``undated`` only those whose files do not say when they were taken.
    """
    dateless = f" and {CAPTURED_DAY} = ''" if undated else ""
    query = (
        f"select sha256 from photos where {LATITUDE} between ? and ?"
        f" and {LONGITUDE} between ? and ?{dateless} limit ?"
    )
    return {
        photo
        for south, west, north, east in boxes
        for photo in survey.column(query, south, north, west, east, limit)
    }


def compare_anew(survey: Survey, photos: Iterable[str]) -> None:
    """Have photos compared again whose files state a place, since people say another now."""
    query = f"update photos set linked_with = '' where {LATITUDE} is not null and sha256 in (...)"
    survey.run_in(query, photos)


def compare_of_others(survey: Survey) -> None:
    """Of photos to be grouped anew, have those compared again that became another sender's."""
    query = "select sha256, linked_sender from photos where grouped_with = '' and linked_with <> ''"
    before = dict(survey.run(query))
    now = _first_senders(survey, before)
    others = [photo for photo, sender in before.items() if now.get(photo, "") != sender]
    survey.run_in("update photos set linked_with = '' where sha256 in (...)", others)


def forget_links(survey: Survey, photos: Iterable[str]) -> set[str]:
    """Drop the links of photos that are to be compared anew; returns the ends."""
    return _forget(survey, links_among(survey, photos))


def forget_neighbours(survey: Survey, frames: Iterable[str]) -> set[str]:
    """Drop links among these that rest on time alone, since others may stand between; the ends."""
    here = set(frames)
    found = links_among(survey, here)
    return _forget(
        survey, [one for one in found if one.is_by_time and {one.first, one.second} <= here]
    )


def _forget(survey: Survey, links: Sequence[PhotoLink]) -> set[str]:
    survey.run_each(
        "delete from photo_links where first = ? and second = ? and kind = ?",
        [(link.first, link.second, link.kind) for link in links],
    )
    return {end for link in links for end in (link.first, link.second)}


def save_links(
    survey: Survey, links: Iterable[PhotoLink], *, photos: Iterable[str], method: str
) -> None:
    """Write new links and note that these photos were linked, and as whose."""
    for link in links:
        survey.insert("photo_links", values_of(link), replace=True)
    which = list(photos)
    senders = _first_senders(survey, which)
    survey.run_each(
        "update photos set linked_with = ?, linked_sender = ? where sha256 = ?",
        [(method, senders.get(photo, ""), photo) for photo in which],
    )


def links_among(survey: Survey, photos: Iterable[str]) -> list[PhotoLink]:
    """Links that touch the given photos."""
    wanted = sorted(set(photos))
    found = {
        (link.first, link.second, link.kind): link
        for column in ("first", "second")
        for link in survey.records_in(
            PhotoLink, f"select * from photo_links where {column} in (...)", wanted
        )
    }
    return [found[key] for key in sorted(found)]


def save_groups(
    survey: Survey, kind: str, groups: Iterable[tuple[str, Sequence[str], str]], photos: set[str]
) -> None:
    """Replace the groups of one kind that these photos are in: identifier, members, best."""
    survey.run_in("delete from photo_groups where kind = ? and photo in (...)", photos, kind)
    survey.run_each(
        "insert or replace into photo_groups (photo, kind, group_identifier, best)"
        " values (?, ?, ?, ?)",
        [
            (member, kind, identifier, int(member == best))
            for identifier, members, best in groups
            for member in members
        ],
    )


_GROUPS = "select photo, group_identifier, best from photo_groups where kind = ?"


def groups(survey: Survey, kind: str) -> dict[str, tuple[str, bool]]:
    """By photo: its group of this kind, and whether it is the best of it."""
    return {photo: (group, bool(best)) for photo, group, best in survey.run(_GROUPS, kind)}


def groups_of(survey: Survey, kind: str, photos: Iterable[str]) -> dict[str, tuple[str, bool]]:
    """As :func:`groups`, of these photos and of everything that shares a group with them."""
    named = "select group_identifier from photo_groups where kind = ? and photo in (...)"
    identifiers = survey.column_in(named, photos, kind)
    rows = survey.run_in(f"{_GROUPS} and group_identifier in (...)", identifiers, kind)
    return {photo: (group, bool(best)) for photo, group, best in rows}


def exposures(survey: Survey, photos: Iterable[str]) -> dict[str, list[str]]:
    """By best copy: all copies, in order, of every exposure that these photos show.

    A photo without copies stands for itself.
    """
    wanted = list(photos)
    grouped = groups_of(survey, "copy", wanted)
    members = in_groups((group, photo) for photo, (group, _) in sorted(grouped.items()))
    found = {}
    for photo in wanted:
        everyone = members[grouped[photo][0]] if photo in grouped else [photo]
        best = next((one for one in everyone if one in grouped and grouped[one][1]), photo)
        found[best] = everyone
    return found
