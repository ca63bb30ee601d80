-- Make a night's work cost its own size: indexes, a message's state at hand, what is due.

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
