-- Note what went out in packets to determiners far away, and the answers taken in.

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
