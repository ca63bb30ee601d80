-- Keep a quarter of each photo's local features apart, so that a sender's photos are looked through
-- without their rows. Linking fills it; a photo without a sketch is compared whole, and gets one.

create table photo_sketches ( -- derived
    photo text primary key references photos (sha256),
    words blob not null
) strict;
create trigger photo_sketches_gone after update of local_features on photos
    when old.local_features <> new.local_features begin
    delete from photo_sketches where photo = old.sha256;
end;
