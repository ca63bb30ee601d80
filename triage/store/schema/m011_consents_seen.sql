-- Note whose grants somebody has seen, what answers our own question, and a refused name.
--
-- What was kept before as no name shown stays a no: a later yes may change it.

alter table consents add column name_shown text not null default 'unstated'
    check (name_shown in ('yes', 'no', 'unstated'));
alter table consents add column answers integer not null default 0
    check (answers in (0, 1));
update consents set name_shown = case name_public when 1 then 'yes' else 'no' end;
create table consents_seen (
    id integer primary key,
    person_id integer not null references people (id),
    action_id integer not null references actions (id)
) strict;
