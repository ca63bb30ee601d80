-- Let a sighting that is only fixed, as by an export, stay where it is in all that is kept.

drop trigger queue_due_b;
create trigger queue_due_b after update of
    identifier, observer_id, event_date, decimal_latitude, decimal_longitude,
    coordinate_uncertainty_in_meters, location_id, locality, georeference_protocol,
    place_source, time_source, suborder, best_dorsal, best_lateral, first_received, action_id
    on sightings begin
    insert or ignore into queue_due values (new.identifier);
end;
drop trigger matches_due_b;
create trigger matches_due_b after update of
    identifier, observer_id, event_date, decimal_latitude, decimal_longitude,
    coordinate_uncertainty_in_meters, location_id, locality, georeference_protocol,
    place_source, time_source, suborder, best_dorsal, best_lateral, first_received, action_id
    on sightings begin
    insert or ignore into matches_due values (new.identifier);
end;
drop trigger site_adults_due_b;
create trigger site_adults_due_b after update of
    identifier, observer_id, event_date, decimal_latitude, decimal_longitude,
    coordinate_uncertainty_in_meters, location_id, locality, georeference_protocol,
    place_source, time_source, suborder, best_dorsal, best_lateral, first_received, action_id
    on sightings begin
    insert or ignore into site_adults_due values (new.identifier);
end;
