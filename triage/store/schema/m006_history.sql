-- Keep what imports change row by row, and whether each action holds: an undo can be undone.

alter table actions add column live integer not null default 1 check (live in (0, 1));
update actions set live = 0
    where exists (select 1 from actions u where u.undoes = actions.id);
drop view known_sightings;
drop view live_actions;
create view live_actions as select * from actions where live = 1 and undoes is null;
create view known_sightings as
    select s.*, (select min(new) from sighting_succession x where x.old = s.identifier
                 and x.action_id in (select id from live_actions)) as superseded_by
    from sightings s
    where s.action_id is null or s.action_id in (select id from live_actions);
create table row_history (
    id integer primary key,
    action_id integer not null references actions (id),
    table_name text not null,
    row_key text not null check (json_valid(row_key)),
    row_before text not null, -- nothing for a new row
    row_after text not null -- nothing for a row taken out
) strict;
create index row_history_by_row on row_history (table_name, row_key);
create index row_history_by_action on row_history (action_id);
