-- Lay down people, mail, claims, review and evidence.

create table people (
    id integer primary key,
    code text not null unique,
    name text not null default '',
    orcid text not null default '',
    forgotten_at text
) strict;
create table addresses (
    address text primary key,
    person_id integer not null references people (id)
) strict;
create table actions (
    id integer primary key,
    at text not null,
    by_name text not null,
    command text not null,
    summary text not null,
    undoes integer references actions (id)
) strict;
create view live_actions as
    select * from actions a
    where undoes is null and not exists (select 1 from actions u where u.undoes = a.id);
create table consents (
    id integer primary key,
    person_id integer not null references people (id),
    message_id integer references messages (id),
    publish text not null check (publish in ('yes', 'no', 'unstated')),
    name_public integer not null check (name_public in (0, 1)),
    licence text not null default '',
    wording text not null default '',
    action_id integer references actions (id)
) strict;
create table messages (
    id integer primary key,
    identifier text not null unique,
    message_header text not null,
    raw_sha256 text not null,
    raw_name text not null,
    in_reply_to text not null,
    reference_headers text not null check (json_valid(reference_headers)),
    sender_id integer references people (id),
    sent_at text,
    received_at text,
    subject text not null,
    automatic text not null check (automatic in ('', 'bounce', 'auto-reply')),
    links text not null check (json_valid(links)),
    problems text not null check (json_valid(problems)),
    origin text not null,
    texts_read_with text not null default '',
    taken_in_at text not null
) strict;
create index messages_by_header on messages (message_header);
create index messages_by_sender on messages (sender_id);
create table envelopes (
    message_id integer not null references messages (id),
    number integer not null,
    person_id integer references people (id),
    sent_at text,
    subject text not null,
    text text not null,
    quoted_text text not null,
    primary key (message_id, number)
) strict;
create table photos (
    sha256 text primary key check (length(sha256) = 64),
    format text not null,
    width integer not null check (width >= 0),
    height integer not null check (height >= 0),
    orientation integer check (orientation between 1 and 8),
    byte_size integer not null check (byte_size >= 0),
    phash text not null default '',
    content_phash text not null default '',
    local_features blob not null default x'',
    exif text not null default '{}' check (json_valid(exif)),
    problem text not null default '',
    examined_with text not null default '',
    linked_with text not null default '',
    grouped_with text not null default ''
) strict;
create table parts (
    id integer primary key,
    message_id integer not null references messages (id),
    path text not null,
    envelope integer not null,
    file_name text not null,
    declared_type text not null,
    media_type text not null,
    outcome text not null check (outcome in
        ('taken in', 'kept, not examined', 'kept, other kind', 'nothing to keep')),
    reason text not null,
    sha256 text check (length(sha256) = 64),
    byte_size integer not null,
    unique (message_id, path)
) strict;
create index parts_by_sha256 on parts (sha256);
create view appearances as
    select p.id, p.message_id, p.sha256 as photo, p.file_name, p.path, p.envelope,
           coalesce(e.person_id, m.sender_id) as person_id,
           coalesce(e.sent_at, m.sent_at) as sent_at
    from parts p join messages m on m.id = p.message_id
    left join envelopes e on e.message_id = p.message_id and e.number = p.envelope
    where p.outcome = 'taken in';
create table message_states (
    id integer primary key,
    message_id integer not null references messages (id),
    state text not null check (state in ('open', 'waiting', 'settled', 'set aside')),
    reason text not null,
    at text not null,
    action_id integer references actions (id)
) strict;
create index message_states_by_message on message_states (message_id);
create table questions (
    id integer primary key,
    code text not null unique,
    message_id integer not null references messages (id),
    what text not null,
    draft_name text not null,
    answered_by integer references messages (id),
    action_id integer not null references actions (id)
) strict;
create table imap_positions (
    account text not null,
    folder text not null,
    uid_validity integer not null,
    uid integer not null,
    primary key (account, folder)
) strict;
create table failures (
    stage text not null,
    subject text not null,
    reason text not null,
    at text not null,
    primary key (stage, subject)
) strict;
create table time_claims (
    id integer primary key,
    photo text not null references photos (sha256),
    part_id integer references parts (id),
    source text not null,
    event_date text not null,
    uncertainty_seconds real not null check (uncertainty_seconds >= 0),
    verbatim text not null,
    zone text not null,
    doubts text not null check (json_valid(doubts)),
    note text not null,
    offered_event_date text not null,
    action_id integer references actions (id)
) strict;
create index time_claims_by_photo on time_claims (photo);
create index time_claims_by_part on time_claims (part_id);
create table place_claims (
    id integer primary key,
    photo text not null references photos (sha256),
    part_id integer references parts (id),
    source text not null,
    decimal_latitude real check (decimal_latitude between -90 and 90),
    decimal_longitude real check (decimal_longitude between -180 and 180),
    coordinate_uncertainty_in_meters real check (coordinate_uncertainty_in_meters > 0),
    location_id text not null,
    locality text not null,
    verbatim text not null,
    georeference_protocol text not null,
    doubts text not null check (json_valid(doubts)),
    note text not null,
    offered text not null check (json_valid(offered)),
    action_id integer references actions (id)
) strict;
create index place_claims_by_photo on place_claims (photo);
create index place_claims_by_part on place_claims (part_id);
create table camera_corrections (
    id integer primary key,
    message_id integer not null references messages (id),
    camera text not null,
    offset_seconds real not null,
    action_id integer not null references actions (id)
) strict;
create table measurements (
    photo text not null references photos (sha256),
    method text not null,
    odonate real not null check (odonate between 0 and 1),
    suborder text not null check (suborder in ('anisoptera', 'zygoptera')),
    suborder_probability real not null check (suborder_probability between 0 and 1),
    box text not null check (json_valid(box)),
    body_box text not null check (json_valid(body_box)),
    other_boxes text not null check (json_valid(other_boxes)),
    view text not null,
    p_dorsal real not null, p_lateral real not null, p_anterior real not null,
    p_oblique real not null, p_other real not null,
    focus real not null check (focus between 0 and 1),
    exposure real not null check (exposure between 0 and 1),
    insect_px real not null check (insect_px >= 0),
    usability real not null check (usability between 0 and 1),
    reasons text not null check (json_valid(reasons)),
    kind text not null,
    faces integer not null,
    colours text not null default '[]' check (json_valid(colours)),
    features blob not null,
    primary key (photo, method)
) strict;
create table corrections (
    id integer primary key,
    photo text not null references photos (sha256),
    field text not null check (field in ('view', 'box', 'publication')),
    value text not null,
    action_id integer not null references actions (id)
) strict;
create index corrections_by_photo on corrections (photo);
create table photo_links (
    first text not null references photos (sha256),
    second text not null references photos (sha256),
    kind text not null check (kind in ('copy', 'burst')),
    evidence text not null,
    picture_share_first real not null check (picture_share_first between 0 and 1),
    picture_share_second real not null check (picture_share_second between 0 and 1),
    primary key (first, second, kind)
) strict;
create table photo_groups ( -- derived from photo_links
    photo text not null references photos (sha256),
    kind text not null check (kind in ('copy', 'burst')),
    group_identifier text not null,
    best integer not null check (best in (0, 1)),
    primary key (photo, kind)
) strict;
create index photo_groups_by_group on photo_groups (kind, group_identifier);
create table sightings (
    id integer primary key,
    identifier text not null unique,
    observer_id integer references people (id),
    event_date text not null,
    decimal_latitude real, decimal_longitude real, coordinate_uncertainty_in_meters real,
    location_id text not null, locality text not null,
    georeference_protocol text not null, place_source text not null, time_source text not null,
    suborder text not null,
    best_dorsal text not null, best_lateral text not null,
    first_received text not null,
    frozen_at text,
    action_id integer references actions (id) -- the split that made it, if one did
) strict;
create table sighting_succession ( -- a frozen sighting that was split, or merged into an older one
    old text not null references sightings (identifier),
    new text not null references sightings (identifier),
    action_id integer not null references actions (id),
    primary key (old, new, action_id)
) strict;
create view known_sightings as
    select s.*, (select min(new) from sighting_succession x where x.old = s.identifier
                 and x.action_id in (select id from live_actions)) as superseded_by
    from sightings s
    where s.action_id is null or s.action_id in (select id from live_actions);
create index sightings_by_observer on sightings (observer_id);
create table sighting_photos (
    sighting_id integer not null references sightings (id),
    photo text not null references photos (sha256),
    animal integer not null default 1,
    position integer not null,
    action_id integer references actions (id), -- the merge that brought it, if one did
    primary key (sighting_id, photo, animal)
) strict;
create index sighting_photos_by_photo on sighting_photos (photo);
create table sighting_edits (
    id integer primary key,
    kind text not null check (kind in ('split', 'merge', 'add')),
    members text not null check (json_valid(members)),
    action_id integer not null references actions (id)
) strict;
create table proposed_changes ( -- derived: what would change on frozen sightings
    sighting text not null references sightings (identifier),
    change text not null,
    primary key (sighting, change)
) strict;
create table sighting_states (
    id integer primary key,
    sighting text not null references sightings (identifier),
    state text not null check (state in ('set aside', 'queued')),
    reason text not null,
    action_id integer not null references actions (id)
) strict;
create table determinations (
    id integer primary key,
    identifier text not null unique,
    sighting text not null references sightings (identifier),
    outcome text not null check (outcome in ('determined', 'cannot tell', 'not an adult')),
    scientific_name text not null,
    taxon_rank text not null,
    qualifier text not null, sex text not null, life_stage text not null, behavior text not null,
    reason text not null, remarks text not null,
    person_id integer not null references people (id),
    date_identified text not null,
    second_opinion integer not null check (second_opinion in (0, 1)),
    photos text not null check (json_valid(photos)),
    action_id integer not null references actions (id),
    check ((outcome = 'determined') = (scientific_name <> ''))
) strict;
create index determinations_by_sighting on determinations (sighting);
create table taxa (
    scientific_name text primary key,
    rank text not null,
    family text not null, suborder text not null, parent text not null,
    vernacular_name text not null,
    synonyms text not null check (json_valid(synonyms)),
    season_first integer check (season_first between 1 and 366),
    season_last integer check (season_last between 1 and 366),
    needs_two integer not null check (needs_two in (0, 1)),
    sensitive text not null
) strict;
create table sites (
    location_id text primary key,
    locality text not null,
    aliases text not null check (json_valid(aliases)),
    decimal_latitude real not null check (decimal_latitude between -90 and 90),
    decimal_longitude real not null check (decimal_longitude between -180 and 180),
    coordinate_uncertainty_in_meters real not null check (coordinate_uncertainty_in_meters > 0),
    footprint_wkt text not null, water_body text not null, habitat text not null,
    private integer not null check (private in (0, 1)),
    sensitivity text not null, location_remarks text not null
) strict;
create table visits (
    event_id text primary key,
    location_id text not null,
    first_day text not null, last_day text not null check (last_day >= first_day),
    sampling_protocol text not null, sampling_effort text not null,
    recorded_by text not null, passes integer not null check (passes >= 1),
    permit text not null, event_remarks text not null
) strict;
create table lots (
    catalog_number text primary key,
    event_id text not null, location_id text not null,
    first_day text not null, last_day text not null check (last_day >= first_day),
    scientific_name text not null, taxon_rank text not null,
    individual_count integer not null check (individual_count >= 0),
    recorded_by text not null, identified_by text not null, date_identified text not null,
    identification_qualifier text not null, sex text not null, occurrence_remarks text not null
) strict;
create table taxon_scores (
    index_name text not null, scientific_name text not null, score real not null,
    primary key (index_name, scientific_name)
) strict;
create table site_measurements (
    location_id text not null, measured_on text not null, variable text not null,
    value real not null, unit text not null, method text not null,
    primary key (location_id, measured_on, variable, method)
) strict;
create table matches ( -- derived
    sighting text not null,
    location_id text not null,
    distance real, distance_least real, distance_most real,
    days_least integer, days_most integer,
    season text not null,
    taxon_agreement text not null check (taxon_agreement in
        ('same', 'compatible', 'conflicting', 'unknown')),
    agreement_rank text not null,
    movement_term real not null, season_term real not null, taxon_term real not null,
    likelihood real not null check (likelihood >= 0),
    share real not null check (share between 0 and 1),
    reason text not null,
    breeding_evidence text not null,
    exuviae_count integer not null check (exuviae_count >= 0),
    exuviae_years text not null check (json_valid(exuviae_years)),
    kernel text not null,
    primary key (sighting, location_id)
) strict;
create table exports (
    sighting text primary key references sightings (identifier),
    first_exported_at text not null
) strict;
create table learned (
    id integer primary key,
    kind text not null check (kind in ('heads', 'usability')),
    content blob not null,
    report text not null check (json_valid(report)),
    action_id integer not null references actions (id)
) strict;
