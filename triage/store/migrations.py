"""Bring an empty or older survey.db to the newest schema: an append-only list of migrations.

A released migration is never edited. Times are UTC ISO 8601 text, days are ISO days; digests and
hashes are hexadecimal text; lists are JSON text. Rows that a person caused carry ``action_id``
and are taken back by a newer action that names theirs in ``undoes``; nothing of the kind is ever
updated or deleted. Tables marked "derived" are functions of the rest and may be computed anew.
"""

from __future__ import annotations

from sqlite_utils import Database
from sqlite_utils.migrations import Migrations

from triage.store.first_schema import CLAIMS, EVIDENCE, MAIL, PEOPLE, REVIEW

migrations = Migrations("triage")


@migrations()
def m001_first_schema(db: Database) -> None:
    """Lay down people, mail, claims, review and evidence."""
    for part in (PEOPLE, MAIL, CLAIMS, REVIEW, EVIDENCE):
        db.executescript(part)


_NIGHTLY = """
create index actions_by_undoes on actions (undoes) where undoes is not null;
create index consents_by_person on consents (person_id);
create index envelopes_by_person on envelopes (person_id);
create index questions_by_message on questions (message_id);
alter table messages add column state text not null default '' check (state in
    ('', 'open', 'waiting', 'settled', 'set aside')); -- what message_states come to
alter table messages add column state_reason text not null default '';
alter table messages add column state_due integer not null default 1 check (state_due in (0, 1));
update messages set (state, state_reason) = (
    select s.state, s.reason from message_states s where s.message_id = messages.id and
        (s.action_id is null or s.action_id in (select id from live_actions))
    order by s.id desc limit 1)
    where id in (select message_id from message_states s where
        s.action_id is null or s.action_id in (select id from live_actions));
create index messages_by_state on messages (state);
create index messages_due on messages (id) where state_due = 1;
create index messages_by_reading on messages (texts_read_with);
alter table photos add column partition text not null default ''; -- observer and day, as grouped
create index photos_by_partition on photos (partition);
create index photos_by_examination on photos (examined_with);
create index photos_by_grouping on photos (grouped_with, examined_with);
create index photos_by_linking on photos (linked_with, sha256, phash, content_phash);
create index photos_by_day on photos (
    substr(json_extract(exif, '$.date_time_original'), 1, 10),
    json_extract(exif, '$.gps_latitude'), json_extract(exif, '$.gps_longitude'), sha256);
create index photos_by_place on photos (
    json_extract(exif, '$.gps_latitude'), json_extract(exif, '$.gps_longitude'), sha256);
create index photo_links_by_second on photo_links (second);
create index time_claims_by_action on time_claims (action_id) where action_id is not null;
create index place_claims_by_action on place_claims (action_id) where action_id is not null;
create table notes ( -- what the survey must remember between runs, such as the rules of grouping
    name text primary key,
    value text not null
) strict;
"""


@migrations()
def m002_nightly_work(db: Database) -> None:
    """Make a night's work cost its own size: indexes, a message's state at hand, what is due."""
    db.executescript(_NIGHTLY)


@migrations()
def m003_leases(db: Database) -> None:
    """Note which browser looks at which sighting, until when."""
    db.executescript("""
        create table leases (
            sighting text primary key,
            holder text not null,
            until text not null
        ) strict;
        create index actions_by_name on actions (by_name collate nocase);
    """)


@migrations()
def m004_authorship_of_names(db: Database) -> None:
    """Keep author and year of each name, as nomenclature writes them."""
    db.executescript("alter table taxa add column authorship text not null default '';")


@migrations()
def m005_words_of_determinations(db: Database) -> None:
    """Keep the name with its doubt in the determiner's own words."""
    db.execute(
        "alter table determinations add column verbatim_identification text not null default ''"
    )


@migrations()
def m006_history(db: Database) -> None:
    """Keep what imports change row by row, and whether each action holds: an undo can be undone."""
    db.executescript("""
        alter table actions add column live integer not null default 1 check (live in (0, 1));
        update actions set live = 0
            where exists (select 1 from actions u where u.undoes = actions.id);
        drop view known_sightings;
        drop view live_actions;
        create view live_actions as select * from actions where live = 1 and undoes is null;
        create view known_sightings as
            select s.*, (select min(new) from sighting_succession x where x.old = s.identifier
                         and x.action_id in (select id from live_actions)) as superseded_by
            from sightings s
            where s.action_id is null or s.action_id in (select id from live_actions);
        create table row_history (
            id integer primary key,
            action_id integer not null references actions (id),
            table_name text not null,
            row_key text not null check (json_valid(row_key)),
            row_before text not null, -- nothing for a new row
            row_after text not null -- nothing for a row taken out
        ) strict;
        create index row_history_by_row on row_history (table_name, row_key);
        create index row_history_by_action on row_history (action_id);
    """)


@migrations()
def m007_photo_packs(db: Database) -> None:
    """Note which photos were handed on in which pack, so that a withdrawn consent finds them."""
    db.executescript("""
        create table pack_photos (
            pack text not null,
            made_at text not null,
            sighting text not null references sightings (identifier),
            photo text not null references photos (sha256),
            primary key (pack, sighting, photo)
        ) strict;
    """)


_SIGHTINGS_OF_PHOTO = """
    select s.identifier from sighting_photos p join sightings s on s.id = p.sighting_id
    where p.photo = new.photo
"""
_SIGHTINGS_OF_ACTION = """
    select sighting from determinations where action_id = new.id
    union select sighting from sighting_states where action_id = new.id
    union select identifier from sightings where action_id = new.id
    union select old from sighting_succession where action_id = new.id
    union select new from sighting_succession x where x.action_id = new.id
    union select s.identifier from sighting_photos p join sightings s on s.id = p.sighting_id
        where p.action_id = new.id
    union select s.identifier from corrections c join sighting_photos p on p.photo = c.photo
        join sightings s on s.id = p.sighting_id where c.action_id = new.id
"""


@migrations()
def m008_order_of_the_queue(db: Database) -> None:
    """Keep a key for each waiting sighting; note which ones a change may have moved."""
    db.executescript("""
        create table queue_order ( -- derived
            sighting text primary key,
            observer text not null,
            value real not null,
            since real not null, -- days since 1970
            had text not null check (json_valid(had)), -- people who named it already
            sender_factor real not null,
            order_key real not null
        ) strict;
        create index queue_order_by_key on queue_order (order_key desc, sighting);
        create index queue_order_by_observer on queue_order (observer);
        create table queue_rules (rules text primary key) strict; -- that the order stands by
        create table queue_due (sighting text primary key) strict; -- derived
        create index determinations_by_action on determinations (action_id);
        create index sighting_states_by_action on sighting_states (action_id);
        create index sightings_by_action on sightings (action_id) where action_id is not null;
        create index sighting_photos_by_action on sighting_photos (action_id)
            where action_id is not null;
        create index sighting_succession_by_new on sighting_succession (new);
        create index sighting_succession_by_action on sighting_succession (action_id);
        create index corrections_by_action on corrections (action_id);
    """)
    for name, event, what in (
        ("a", "insert on sightings", "values (new.identifier)"),
        ("b", "update on sightings", "values (new.identifier)"),
        ("c", "delete on sightings", "values (old.identifier)"),
        ("d", "insert on determinations", "values (new.sighting)"),
        ("e", "update on determinations", "values (new.sighting)"),
        ("f", "insert on sighting_states", "values (new.sighting)"),
        ("g", "insert on sighting_succession", "values (new.old), (new.new)"),
        ("h", "insert on sighting_photos", _SIGHTINGS_OF_PHOTO),
        ("i", "insert on measurements", _SIGHTINGS_OF_PHOTO),
        ("j", "insert on corrections", _SIGHTINGS_OF_PHOTO),
        ("k", "update of live on actions", _SIGHTINGS_OF_ACTION),
    ):
        db.execute(
            f"create trigger queue_due_{name} after {event} begin"
            f" insert or ignore into queue_due {what}; end"
        )


_MATCHES = """
drop table matches; -- derived: the next 'triage match' writes it anew
create table matches (
    sighting text not null,
    location_id text not null,
    distance real, distance_least real, distance_most real,
    days_least integer, days_most integer,
    season text not null,
    taxon_agreement text not null check (taxon_agreement in
        ('same', 'compatible', 'conflicting', 'unknown')),
    agreement_rank text not null,
    movement_density real not null check (movement_density >= 0), -- per square kilometre
    presence real not null check (presence between 0 and 1),
    abundance real not null check (abundance >= 0),
    likelihood real not null check (likelihood >= 0),
    likelihood_near real not null check (likelihood_near >= 0),
    likelihood_far real not null check (likelihood_far >= 0),
    share real not null check (share between 0 and 1),
    share_low real not null check (share_low between 0 and 1),
    share_high real not null check (share_high between 0 and 1),
    reason text not null,
    passes integer not null check (passes >= 0),
    breeding_evidence text not null,
    exuviae_count integer not null check (exuviae_count >= 0),
    exuviae_years text not null check (json_valid(exuviae_years)),
    kernel text not null,
    primary key (sighting, location_id)
) strict;
"""


@migrations()
def m009_matches_by_effort(db: Database) -> None:
    """Matches say how likely a taxon emerges at a water, and within what range their share lies."""
    db.executescript(_MATCHES)


@migrations()
def m010_short_names(db: Database) -> None:
    """Let initials or a nickname stand for a person."""
    db.executescript("""
        create table short_names (
            short text primary key collate nocase,
            person_id integer not null references people (id)
        ) strict;
    """)


@migrations()
def m011_consents_seen(db: Database) -> None:
    """Note whose grants somebody has seen, what answers our own question, and a refused name.

    What was kept before as no name shown stays a no: a later yes may change it.
    """
    db.executescript("""
        alter table consents add column name_shown text not null default 'unstated'
            check (name_shown in ('yes', 'no', 'unstated'));
        alter table consents add column answers integer not null default 0
            check (answers in (0, 1));
        update consents set name_shown = case name_public when 1 then 'yes' else 'no' end;
        create table consents_seen (
            id integer primary key,
            person_id integer not null references people (id),
            action_id integer not null references actions (id)
        ) strict;
    """)


@migrations()
def m012_letters(db: Database) -> None:
    """Note the letters drafted for people, so that a second run makes nothing twice."""
    db.executescript("""
        create table letters (
            id integer primary key,
            person_id integer not null references people (id),
            kind text not null check (kind in ('thanks', 'season')),
            year integer not null,
            draft_name text not null,
            said text not null check (json_valid(said)),
            made_at text not null,
            action_id integer not null references actions (id)
        ) strict;
        create index letters_by_person on letters (person_id);
        create index letters_by_action on letters (action_id);
    """)


@migrations()
def m013_matches_due(db: Database) -> None:
    """Note which sightings a change may have moved away from what they were matched with."""
    db.execute("create table matches_due (sighting text primary key) strict")  # derived
    for name, event, what in (
        ("a", "insert on sightings", "values (new.identifier)"),
        ("b", "update on sightings", "values (new.identifier)"),
        ("c", "delete on sightings", "values (old.identifier)"),
        ("d", "insert on determinations", "values (new.sighting)"),
        ("e", "insert on sighting_states", "values (new.sighting)"),
        ("f", "insert on sighting_succession", "values (new.old), (new.new)"),
        ("g", "update of live on actions", _SIGHTINGS_OF_ACTION),
    ):
        db.execute(
            f"create trigger matches_due_{name} after {event} begin"
            f" insert or ignore into matches_due {what}; end"
        )


@migrations()
def m014_guardians(db: Database) -> None:
    """Keep who consented for a child's photos, when and in which mail."""
    db.executescript("""
        create table guardian_consents (
            id integer primary key,
            person_id integer not null references people (id),
            given_by text not null,
            given_on text not null,
            message_id integer references messages (id),
            action_id integer not null references actions (id)
        ) strict;
        create index guardian_consents_by_person on guardian_consents (person_id);
    """)


@migrations()
def m015_turns_of_the_queue(db: Database) -> None:
    """Keep what a sighting is worth and since when it waits; its place follows from the turns."""
    db.executescript("""
        drop index queue_order_by_key;
        drop index queue_order_by_observer;
        alter table queue_order drop column sender_factor;
        alter table queue_order drop column order_key;
        create index queue_order_by_value on queue_order (value desc, sighting, observer);
        create index queue_order_by_since on queue_order (since, sighting, observer);
        delete from queue_rules;
    """)


@migrations()
def m016_distribution(db: Database) -> None:
    """Note the list or bulk mailing through which a mail came."""
    db.execute("alter table messages add column distribution text not null default ''")


@migrations()
def m017_packets(db: Database) -> None:
    """Note what went out in packets to determiners far away, and the answers taken in."""
    db.executescript("""
        create table packets (
            packet text primary key,
            person_id integer not null references people (id),
            action_id integer not null references actions (id)
        ) strict;
        create table packet_sightings (
            packet text not null references packets (packet),
            number integer not null,
            sighting text not null,
            photos text not null check (json_valid(photos)),
            primary key (packet, number)
        ) strict;
        create table packet_answers (
            id integer primary key,
            packet text not null,
            number integer not null,
            statement text not null, -- the digest of what was said
            action_id integer not null references actions (id),
            foreign key (packet, number) references packet_sightings (packet, number)
        ) strict;
        create index packet_answers_by_sighting on packet_answers (packet, number);
    """)


@migrations()
def m018_joins(db: Database) -> None:
    """Keep what was whose when two people were joined, so that they can be parted again."""
    db.executescript("""
        create table joins (
            id integer primary key,
            action_id integer not null references actions (id),
            kept_id integer not null references people (id),
            kept_name text not null,
            kept_orcid text not null,
            gone_id integer not null, -- its row again once parted, unless it was taken since
            gone_code text not null,
            gone_name text not null,
            gone_orcid text not null,
            moved text not null check (json_valid(moved)), -- by table, the names of rows
            forgotten integer not null default 0 check (forgotten in (0, 1))
        ) strict;
        create index joins_by_action on joins (action_id);
    """)


@migrations()
def m019_statements(db: Database) -> None:
    """Keep what an action said and of what, so that a command given again is known again."""
    db.executescript("""
        create table statements (
            action_id integer primary key references actions (id),
            digest text not null, -- of the words and of who said them
            stands text not null -- the digest of how it stood then
        ) strict;
        create index statements_by_digest on statements (digest);
        create table statement_subjects (
            action_id integer not null references actions (id),
            subject text not null,
            primary key (action_id, subject)
        ) strict;
        create index statement_subjects_by_subject on statement_subjects (subject, action_id);
    """)


@migrations()
def m020_counted_from_indexes(db: Database) -> None:
    """Let the figures of the survey, its odd dates and the lots of one water be read by index."""
    db.executescript("""
        drop index parts_by_sha256;
        create index parts_by_content on parts (sha256, outcome);
        create index photos_unreadable on photos (sha256) where problem <> '';
        create index actions_taken_back on actions (id) where live = 0;
        create index determinations_by_person on determinations (person_id, action_id);
        create index sightings_by_first_day on sightings (substr(event_date, 1, 10))
            where event_date <> '';
        create index sightings_by_last_day on sightings
            (substr(event_date, instr(event_date, '/') + 1, 10)) where event_date <> '';
        create index lots_by_words on lots (scientific_name, taxon_rank, sex);
        create index lots_by_site on lots (location_id);
        create index lots_by_visit on lots (event_id);
        create index visits_by_site on visits (location_id);
        create index matches_by_site on matches (location_id, share desc, sighting);
    """)


@migrations()
def m021_sites_at_hand(db: Database) -> None:
    """Keep what each adult is evidence of at a site, and a number that changes with the map."""
    db.executescript("""
        create table derived_rules ( -- what all rows of a derived table stand by
            name text primary key,
            rules text not null
        ) strict;
        create table site_adults ( -- derived
            sighting text primary key,
            location_id text not null,
            scientific_name text not null,
            taxon_rank text not null,
            year integer not null,
            evidence text not null,
            first_day text not null,
            last_day text not null
        ) strict;
        create index site_adults_by_kind on site_adults
            (location_id, scientific_name, taxon_rank, year, evidence, first_day, last_day);
        create table site_adults_due (sighting text primary key) strict; -- derived
        create table ground_changes (number integer primary key) strict; -- one row
        insert into ground_changes values (0);
    """)
    for name, event, what in (
        ("a", "insert on sightings", "values (new.identifier)"),
        ("b", "update on sightings", "values (new.identifier)"),
        ("c", "delete on sightings", "values (old.identifier)"),
        ("d", "insert on determinations", "values (new.sighting)"),
        ("e", "update on determinations", "values (new.sighting)"),
        ("f", "insert on sighting_states", "values (new.sighting)"),
        ("g", "insert on sighting_succession", "values (new.old), (new.new)"),
        ("h", "insert on sighting_photos", _SIGHTINGS_OF_PHOTO),
        ("i", "update of live on actions", _SIGHTINGS_OF_ACTION),
    ):
        db.execute(
            f"create trigger site_adults_due_{name} after {event} begin"
            f" insert or ignore into site_adults_due {what}; end"
        )
    moved = " or ".join(
        f"old.{column} is not new.{column}"
        for column in ("decimal_latitude", "decimal_longitude", "event_date")
    )
    of_sighting = (
        "exists (select 1 from sightings where action_id = new.id)"
        " or exists (select 1 from sighting_succession where action_id = new.id)"
    )
    for name, event in (
        ("a", "insert on sightings"),
        ("b", f"update on sightings when {moved}"),
        ("c", "delete on sightings"),
        ("d", "insert on sighting_succession"),
        ("e", f"update of live on actions when {of_sighting}"),
        ("f", "insert on sites"),
        ("g", "update on sites"),
        ("h", "delete on sites"),
    ):
        db.execute(
            f"create trigger ground_changes_{name} after {event} begin"
            " update ground_changes set number = number + 1; end"
        )


@migrations()
def m022_list_of_the_inbox(db: Database) -> None:
    """Let unsettled messages be counted and read by need and sender."""
    db.execute(
        "create index messages_by_need on messages (state, substr(state_reason, 1,"
        " instr(state_reason || ', ', ', ') - 1), sender_id, coalesce(sent_at, ''), identifier)"
    )


@migrations()
def m023_photographers(db: Database) -> None:
    """Keep who took a photo where its sender did not: whose it is then follows everywhere."""
    db.executescript("""
        create table photographers (
            id integer primary key,
            action_id integer not null references actions (id),
            photo text not null references photos (sha256),
            person_id integer not null references people (id)
        ) strict;
        create index photographers_by_photo on photographers (photo, id);
        create index photographers_by_action on photographers (action_id);
        create index photographers_by_person on photographers (person_id);
        drop view appearances;
        create view appearances as
            select p.id, p.message_id, p.sha256 as photo, p.file_name, p.path, p.envelope,
                   coalesce((select t.person_id from photographers t where t.photo = p.sha256
                             and t.action_id in (select id from live_actions)
                             order by t.id desc limit 1),
                            e.person_id, m.sender_id) as person_id,
                   coalesce(e.sent_at, m.sent_at) as sent_at
            from parts p join messages m on m.id = p.message_id
            left join envelopes e on e.message_id = p.message_id and e.number = p.envelope
            where p.outcome = 'taken in';
    """)


@migrations()
def m024_answers_said(db: Database) -> None:
    """Keep which message a person says to be the answer to a question."""
    db.executescript("""
        create table answers_said (
            id integer primary key,
            action_id integer not null references actions (id),
            code text not null references questions (code),
            message_id integer not null references messages (id)
        ) strict;
        create index answers_said_by_code on answers_said (code);
        create index answers_said_by_action on answers_said (action_id);
    """)


@migrations()
def m025_fixing_changes_nothing(db: Database) -> None:
    """Let a sighting that is only fixed, as by an export, stay where it is in all that is kept."""
    said = (
        "identifier, observer_id, event_date, decimal_latitude, decimal_longitude,"
        " coordinate_uncertainty_in_meters, location_id, locality, georeference_protocol,"
        " place_source, time_source, suborder, best_dorsal, best_lateral, first_received, action_id"
    )
    for kept in ("queue_due", "matches_due", "site_adults_due"):
        db.execute(f"drop trigger {kept}_b")
        db.execute(
            f"create trigger {kept}_b after update of {said} on sightings begin"
            f" insert or ignore into {kept} values (new.identifier); end"
        )


@migrations()
def m026_held_by_number(db: Database) -> None:
    """Look up by its number whether an action holds, not in a list of all that hold."""
    holds = "exists (select 1 from live_actions l where l.id = {}.action_id)"
    db.executescript(f"""
        drop view known_sightings;
        create view known_sightings as
            select s.*, (select min(new) from sighting_succession x where x.old = s.identifier
                         and {holds.format("x")}) as superseded_by
            from sightings s where s.action_id is null or {holds.format("s")};
        drop view appearances;
        create view appearances as
            select p.id, p.message_id, p.sha256 as photo, p.file_name, p.path, p.envelope,
                   coalesce((select t.person_id from photographers t where t.photo = p.sha256
                             and {holds.format("t")} order by t.id desc limit 1),
                            e.person_id, m.sender_id) as person_id,
                   coalesce(e.sent_at, m.sent_at) as sent_at
            from parts p join messages m on m.id = p.message_id
            left join envelopes e on e.message_id = p.message_id and e.number = p.envelope
            where p.outcome = 'taken in';
    """)


@migrations()
def m027_rules_of_the_queue(db: Database) -> None:
    """Note the rules of the queue where those of every derived table stand."""
    db.executescript("""
        insert into derived_rules select 'queue_order', rules from queue_rules;
        drop table queue_rules;
    """)


@migrations()
def m028_undated_photos(db: Database) -> None:
    """Tell without reading a photo's row whether its file says when it was taken."""
    db.execute(
        "create index photos_undated on photos (sha256)"
        " where substr(json_extract(exif, '$.date_time_original'), 1, 10) = ''"
    )


@migrations()
def m029_told_apart(db: Database) -> None:
    """Keep that two people of near names are two: two rows under the action that says so."""
    db.executescript("""
        create table told_apart (
            id integer primary key,
            person_id integer not null references people (id),
            action_id integer not null references actions (id)
        ) strict;
        create index told_apart_by_action on told_apart (action_id);
        create index told_apart_by_person on told_apart (person_id);
    """)


@migrations()
def m030_unsure_places(db: Database) -> None:
    """Find the photos whose file does not surely tell the place, or whose place people said."""
    db.execute("""
        create index place_claims_unsure on place_claims (photo)
            where (action_id is not null or source = 'sender''s answer' or source = 'camera gps'
            and (coordinate_uncertainty_in_meters > 100.0 or doubts <> '[]'
            and (doubts glob '*", "*' or doubts not glob '[[]"[0-9]* m from *"]')))
    """)
