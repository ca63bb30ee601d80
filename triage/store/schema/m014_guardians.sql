-- Keep who consented for a child's photos, when and in which mail.

create table guardian_consents (
    id integer primary key,
    person_id integer not null references people (id),
    given_by text not null,
    given_on text not null,
    message_id integer references messages (id),
    action_id integer not null references actions (id)
) strict;
create index guardian_consents_by_person on guardian_consents (person_id);
