-- Keep what each adult is evidence of at a site, and a number that changes with the map.

create table derived_rules ( -- what all rows of a derived table stand by
    name text primary key,
    rules text not null
) strict;
create table site_adults ( -- derived
    sighting text primary key,
    location_id text not null,
    scientific_name text not null,
    taxon_rank text not null,
    year integer not null,
    evidence text not null,
    first_day text not null,
    last_day text not null
) strict;
create index site_adults_by_kind on site_adults
    (location_id, scientific_name, taxon_rank, year, evidence, first_day, last_day);
create table site_adults_due (sighting text primary key) strict; -- derived
create table ground_changes (number integer primary key) strict; -- one row
insert into ground_changes values (0);
create trigger site_adults_due_a after insert on sightings begin
    insert or ignore into site_adults_due values (new.identifier);
end;
create trigger site_adults_due_b after update on sightings begin
    insert or ignore into site_adults_due values (new.identifier);
end;
create trigger site_adults_due_c after delete on sightings begin
    insert or ignore into site_adults_due values (old.identifier);
end;
create trigger site_adults_due_d after insert on determinations begin
    insert or ignore into site_adults_due values (new.sighting);
end;
create trigger site_adults_due_e after update on determinations begin
    insert or ignore into site_adults_due values (new.sighting);
end;
create trigger site_adults_due_f after insert on sighting_states begin
    insert or ignore into site_adults_due values (new.sighting);
end;
create trigger site_adults_due_g after insert on sighting_succession begin
    insert or ignore into site_adults_due values (new.old), (new.new);
end;
create trigger site_adults_due_h after insert on sighting_photos begin
    insert or ignore into site_adults_due
        select s.identifier from sighting_photos p join sightings s on s.id = p.sighting_id
        where p.photo = new.photo;
end;
create trigger site_adults_due_i after update of live on actions begin
    insert or ignore into site_adults_due
        select sighting from determinations where action_id = new.id
        union select sighting from sighting_states where action_id = new.id
        union select identifier from sightings where action_id = new.id
        union select old from sighting_succession where action_id = new.id
        union select new from sighting_succession x where x.action_id = new.id
        union select s.identifier from sighting_photos p join sightings s on s.id = p.sighting_id
            where p.action_id = new.id
        union select s.identifier from corrections c join sighting_photos p on p.photo = c.photo
            join sightings s on s.id = p.sighting_id where c.action_id = new.id;
end;
create trigger ground_changes_a after insert on sightings begin
    update ground_changes set number = number + 1;
end;
create trigger ground_changes_b after update on sightings when
    old.decimal_latitude is not new.decimal_latitude
    or old.decimal_longitude is not new.decimal_longitude
    or old.event_date is not new.event_date begin
    update ground_changes set number = number + 1;
end;
create trigger ground_changes_c after delete on sightings begin
    update ground_changes set number = number + 1;
end;
create trigger ground_changes_d after insert on sighting_succession begin
    update ground_changes set number = number + 1;
end;
create trigger ground_changes_e after update of live on actions when
    exists (select 1 from sightings where action_id = new.id)
    or exists (select 1 from sighting_succession where action_id = new.id) begin
    update ground_changes set number = number + 1;
end;
create trigger ground_changes_f after insert on sites begin
    update ground_changes set number = number + 1;
end;
create trigger ground_changes_g after update on sites begin
    update ground_changes set number = number + 1;
end;
create trigger ground_changes_h after delete on sites begin
    update ground_changes set number = number + 1;
end;
