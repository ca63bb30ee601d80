-- Keep what was whose when two people were joined, so that they can be parted again.

create table joins (
    id integer primary key,
    action_id integer not null references actions (id),
    kept_id integer not null references people (id),
    kept_name text not null,
    kept_orcid text not null,
    gone_id integer not null, -- its row again once parted, unless it was taken since
    gone_code text not null,
    gone_name text not null,
    gone_orcid text not null,
    moved text not null check (json_valid(moved)), -- by table, the names of rows
    forgotten integer not null default 0 check (forgotten in (0, 1))
) strict;
create index joins_by_action on joins (action_id);
