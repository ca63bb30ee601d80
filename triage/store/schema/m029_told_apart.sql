-- Keep that two people of near names are two: two rows under the action that says so.

create table told_apart (
    id integer primary key,
    person_id integer not null references people (id),
    action_id integer not null references actions (id)
) strict;
create index told_apart_by_action on told_apart (action_id);
create index told_apart_by_person on told_apart (person_id);
