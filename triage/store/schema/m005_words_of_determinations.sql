-- Keep the name with its doubt in the determiner's own words.

alter table determinations add column verbatim_identification text not null default '';
