-- Keep a key for each waiting sighting; note which ones a change may have moved.

create table queue_order ( -- derived
    sighting text primary key,
    observer text not null,
    value real not null,
    since real not null, -- days since 1970
    had text not null check (json_valid(had)), -- people who named it already
    sender_factor real not null,
    order_key real not null
) strict;
create index queue_order_by_key on queue_order (order_key desc, sighting);
create index queue_order_by_observer on queue_order (observer);
create table queue_rules (rules text primary key) strict; -- that the order stands by
create table queue_due (sighting text primary key) strict; -- derived
create index determinations_by_action on determinations (action_id);
create index sighting_states_by_action on sighting_states (action_id);
create index sightings_by_action on sightings (action_id) where action_id is not null;
create index sighting_photos_by_action on sighting_photos (action_id)
    where action_id is not null;
create index sighting_succession_by_new on sighting_succession (new);
create index sighting_succession_by_action on sighting_succession (action_id);
create index corrections_by_action on corrections (action_id);
create trigger queue_due_a after insert on sightings begin
    insert or ignore into queue_due values (new.identifier);
end;
create trigger queue_due_b after update on sightings begin
    insert or ignore into queue_due values (new.identifier);
end;
create trigger queue_due_c after delete on sightings begin
    insert or ignore into queue_due values (old.identifier);
end;
create trigger queue_due_d after insert on determinations begin
    insert or ignore into queue_due values (new.sighting);
end;
create trigger queue_due_e after update on determinations begin
    insert or ignore into queue_due values (new.sighting);
end;
create trigger queue_due_f after insert on sighting_states begin
    insert or ignore into queue_due values (new.sighting);
end;
create trigger queue_due_g after insert on sighting_succession begin
    insert or ignore into queue_due values (new.old), (new.new);
end;
create trigger queue_due_h after insert on sighting_photos begin
    insert or ignore into queue_due
        select s.identifier from sighting_photos p join sightings s on s.id = p.sighting_id
        where p.photo = new.photo;
end;
create trigger queue_due_i after insert on measurements begin
    insert or ignore into queue_due
        select s.identifier from sighting_photos p join sightings s on s.id = p.sighting_id
        where p.photo = new.photo;
end;
create trigger queue_due_j after insert on corrections begin
    insert or ignore into queue_due
        select s.identifier from sighting_photos p join sightings s on s.id = p.sighting_id
        where p.photo = new.photo;
end;
create trigger queue_due_k after update of live on actions begin
    insert or ignore into queue_due
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
