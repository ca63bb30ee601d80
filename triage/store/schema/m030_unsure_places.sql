-- Find the photos whose file does not surely tell the place, or whose place people said.

create index place_claims_unsure on place_claims (photo)
    where (action_id is not null or source = 'sender''s answer' or source = 'camera gps'
    and (coordinate_uncertainty_in_meters > 100.0 or doubts <> '[]'
    and (doubts glob '*", "*' or doubts not glob '[[]"[0-9]* m from *"]')));
