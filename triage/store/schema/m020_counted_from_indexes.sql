-- Let the figures of the survey, its odd dates and the lots of one water be read by index.

drop index parts_by_sha256;
create index parts_by_content on parts (sha256, outcome);
create index photos_unreadable on photos (sha256) where problem <> '';
create index actions_taken_back on actions (id) where live = 0;
create index determinations_by_person on determinations (person_id, action_id);
create index sightings_by_first_day on sightings (substr(event_date, 1, 10))
    where event_date <> '';
create index sightings_by_last_day on sightings
    (substr(event_date, instr(event_date, '/') + 1, 10)) where event_date <> '';
create index lots_by_words on lots (scientific_name, taxon_rank, sex);
create index lots_by_site on lots (location_id);
create index lots_by_visit on lots (event_id);
create index visits_by_site on visits (location_id);
create index matches_by_site on matches (location_id, share desc, sighting);
