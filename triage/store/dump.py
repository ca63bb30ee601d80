"""A survey in, its canonical dump out: what the survey is, without when and where it was made.

Rows are sorted by identifiers; clock times of the survey's own work, row numbers, drawn codes and
facts of the host are left out; people appear by their addresses or names.
"""

from __future__ import annotations

from collections.abc import Iterator

from triage.store.connection import Survey

_PERSON = (
    "coalesce((select min(address) from addresses where person_id = {0}),"
    " (select name from people where id = {0}), '')"
)
_LIVE = "(action_id is null or action_id in (select id from live_actions))"
_LIVE_CLAIM = "(t.action_id is null or t.action_id in (select id from live_actions))"

QUERIES: dict[str, str] = {
    "messages": "select identifier, message_header, raw_sha256, in_reply_to, reference_headers, "
    + _PERSON.format("sender_id")
    + " as sender, sent_at, received_at, subject, automatic, links, problems from messages",
    "envelopes": "select m.identifier, e.number, "
    + _PERSON.format("e.person_id")
    + " as person, e.sent_at, e.subject, e.text from envelopes e"
    " join messages m on m.id = e.message_id",
    "parts": "select m.identifier, p.path, p.file_name, p.declared_type, p.media_type, p.outcome,"
    " p.reason, p.sha256, p.byte_size from parts p join messages m on m.id = p.message_id",
    "message states": "select identifier, state, state_reason from messages",
    "consents": "select "
    + _PERSON.format("person_id")
    + f" as person, publish, name_public, licence, wording from consents where {_LIVE}",
    "photos": "select sha256, format, width, height, orientation, byte_size, phash, exif, problem,"
    " examined_with from photos",
    "time claims": "select t.photo, coalesce(m.identifier || ' ' || p.path, '') as appearance,"
    " t.source, t.event_date, t.uncertainty_seconds, t.verbatim, t.zone, t.doubts, t.note"
    " from time_claims t left join parts p on p.id = t.part_id"
    f" left join messages m on m.id = p.message_id where {_LIVE_CLAIM}",
    "place claims": "select t.photo, coalesce(m.identifier || ' ' || p.path, '') as appearance,"
    " t.source, t.decimal_latitude, t.decimal_longitude, t.coordinate_uncertainty_in_meters,"
    " t.location_id, t.locality, t.verbatim, t.georeference_protocol, t.doubts, t.note"
    " from place_claims t left join parts p on p.id = t.part_id"
    f" left join messages m on m.id = p.message_id where {_LIVE_CLAIM}",
    "measurements": "select photo, method, round(odonate, 4), suborder,"
    " round(suborder_probability, 4), view, round(p_dorsal, 4), round(p_lateral, 4),"
    " round(focus, 4), round(exposure, 4), round(insect_px, 1), round(usability, 4), kind, faces"
    " from measurements",
    "corrections": "select photo, field, value from corrections where"
    " action_id in (select id from live_actions)",
    "links": "select first, second, kind, evidence from photo_links",
    "groups": "select photo, kind, group_identifier, best from photo_groups",
    "sightings": "select identifier, "
    + _PERSON.format("observer_id")
    + " as observer, event_date, round(decimal_latitude, 7), round(decimal_longitude, 7),"
    " coordinate_uncertainty_in_meters, location_id, locality, suborder, best_dorsal,"
    " best_lateral, frozen_at is not null as frozen, superseded_by from known_sightings",
    "sighting photos": "select s.identifier, p.photo, p.animal from sighting_photos p"
    " join known_sightings s on s.id = p.sighting_id where"
    " (p.action_id is null or p.action_id in (select id from live_actions))",
    "proposed changes": "select sighting, change from proposed_changes",
    "determinations": "select sighting, outcome, scientific_name, taxon_rank, qualifier, sex,"
    " life_stage, behavior, reason, remarks, "
    + _PERSON.format("person_id")
    + f" as identified_by, second_opinion, photos from determinations where {_LIVE}",
    "taxa": "select * from taxa",
    "sites": "select * from sites",
    "visits": "select * from visits",
    "lots": "select * from lots",
    "scores": "select * from taxon_scores",
    "site measurements": "select * from site_measurements",
    "matches": "select * from matches",
}


def canonical_dump(survey: Survey) -> Iterator[str]:
    """One line a row, tables in a fixed order, rows sorted as text."""
    for name, query in QUERIES.items():
        rows = sorted(
            "\t".join("" if value is None else _text(value) for value in row)
            for row in survey.connection.execute(query)
        )
        yield f"# {name} ({len(rows)})"
        yield from rows


def _text(value: object) -> str:
    text = f"{value:.7g}" if isinstance(value, float) else str(value)
    return text.replace("\\", "\\\\").replace("\t", "\\t").replace("\n", "\\n").replace("\r", "\\r")
