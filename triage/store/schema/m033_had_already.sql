-- Find the few waiting sightings that somebody named already, to count what waits for a determiner.

create index queue_order_by_had on queue_order (had) where had <> '[]';
