-- Tell without reading a photo's row whether its file says when it was taken.

create index photos_undated on photos (sha256)
    where substr(json_extract(exif, '$.date_time_original'), 1, 10) = '';
