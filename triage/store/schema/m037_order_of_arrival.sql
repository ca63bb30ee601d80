-- Who sent a photo first is told by when the mails were received, in whatever order they are read.

drop view appearances;
create view appearances as
    select p.id, p.message_id, m.identifier as message_identifier, p.sha256 as photo,
           p.file_name, p.path, p.envelope,
           coalesce((select t.person_id from photographers t where t.photo = p.sha256
                     and exists (select 1 from live_actions l where l.id = t.action_id)
                     order by t.id desc limit 1),
                    e.person_id, m.sender_id) as person_id,
           coalesce(e.sent_at, m.sent_at) as sent_at,
           coalesce(m.received_at, m.sent_at) as received
    from parts p join messages m on m.id = p.message_id
    left join envelopes e on e.message_id = p.message_id and e.number = p.envelope
    where p.outcome = 'taken in';
