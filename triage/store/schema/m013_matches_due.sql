-- Note which sightings a change may have moved away from what they were matched with.

create table matches_due (sighting text primary key) strict; -- derived
create trigger matches_due_a after insert on sightings begin
    insert or ignore into matches_due values (new.identifier);
end;
create trigger matches_due_b after update on sightings begin
    insert or ignore into matches_due values (new.identifier);
end;
create trigger matches_due_c after delete on sightings begin
    insert or ignore into matches_due values (old.identifier);
end;
create trigger matches_due_d after insert on determinations begin
    insert or ignore into matches_due values (new.sighting);
end;
create trigger matches_due_e after insert on sighting_states begin
    insert or ignore into matches_due values (new.sighting);
end;
create trigger matches_due_f after insert on sighting_succession begin
    insert or ignore into matches_due values (new.old), (new.new);
end;
create trigger matches_due_g after update of live on actions begin
    insert or ignore into matches_due
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
