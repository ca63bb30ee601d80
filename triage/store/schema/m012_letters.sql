-- Note the letters drafted for people, so that a second run makes nothing twice.

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
