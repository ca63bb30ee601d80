-- Let initials or a nickname stand for a person.

create table short_names (
    short text primary key collate nocase,
    person_id integer not null references people (id)
) strict;
