-- What rests on whether two determiners are two people follows when somebody says so.

create trigger queue_due_of_people_a after insert on told_apart begin
    insert or ignore into queue_due select sighting from determinations where person_id = new.person_id;
end;
create trigger queue_due_of_people_b after update of live on actions begin
    insert or ignore into queue_due
        select d.sighting from told_apart t join determinations d on d.person_id = t.person_id
        where t.action_id = new.id;
end;
create trigger matches_due_of_people_a after insert on told_apart begin
    insert or ignore into matches_due select sighting from determinations where person_id = new.person_id;
end;
create trigger matches_due_of_people_b after update of live on actions begin
    insert or ignore into matches_due
        select d.sighting from told_apart t join determinations d on d.person_id = t.person_id
        where t.action_id = new.id;
end;
create trigger site_adults_due_of_people_a after insert on told_apart begin
    insert or ignore into site_adults_due select sighting from determinations where person_id = new.person_id;
end;
create trigger site_adults_due_of_people_b after update of live on actions begin
    insert or ignore into site_adults_due
        select d.sighting from told_apart t join determinations d on d.person_id = t.person_id
        where t.action_id = new.id;
end;
create trigger matches_due_h after update on determinations begin
    insert or ignore into matches_due values (new.sighting);
end;
-- What two people settled may be settled no longer.
insert or ignore into queue_due
    select sighting from determinations group by sighting having count(distinct person_id) > 1;
insert or ignore into matches_due
    select sighting from determinations group by sighting having count(distinct person_id) > 1;
insert or ignore into site_adults_due
    select sighting from determinations group by sighting having count(distinct person_id) > 1;
