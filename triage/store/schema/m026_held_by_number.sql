-- Look up by its number whether an action holds, not in a list of all that hold.

drop view known_sightings;
create view known_sightings as
    select s.*, (select min(new) from sighting_succession x where x.old = s.identifier
                 and exists (select 1 from live_actions l where l.id = x.action_id)) as superseded_by
    from sightings s
    where s.action_id is null or exists (select 1 from live_actions l where l.id = s.action_id);
drop view appearances;
create view appearances as
    select p.id, p.message_id, p.sha256 as photo, p.file_name, p.path, p.envelope,
           coalesce((select t.person_id from photographers t where t.photo = p.sha256
                     and exists (select 1 from live_actions l where l.id = t.action_id)
                     order by t.id desc limit 1),
                    e.person_id, m.sender_id) as person_id,
           coalesce(e.sent_at, m.sent_at) as sent_at
    from parts p join messages m on m.id = p.message_id
    left join envelopes e on e.message_id = p.message_id and e.number = p.envelope
    where p.outcome = 'taken in';
