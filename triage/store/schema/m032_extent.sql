-- Keep how long the insect is with its wings, and how broad its body is for its length.

alter table measurements add column span_px real not null default 0.0 check (span_px >= 0);
alter table measurements add column breadth real not null default 0.0 check (breadth >= 0);
