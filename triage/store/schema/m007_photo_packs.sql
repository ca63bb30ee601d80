-- Note which photos were handed on in which pack, so that a withdrawn consent finds them.

create table pack_photos (
    pack text not null,
    made_at text not null,
    sighting text not null references sightings (identifier),
    photo text not null references photos (sha256),
    primary key (pack, sighting, photo)
) strict;
