-- Keep who took a photo where its sender did not: whose it is then follows everywhere.

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
