-- Keep author and year of each name, as nomenclature writes them.

alter table taxa add column authorship text not null default '';
