-- Note which browser looks at which sighting, until when.

create table leases (
    sighting text primary key,
    holder text not null,
    until text not null
) strict;
create index actions_by_name on actions (by_name collate nocase);
