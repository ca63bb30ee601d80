-- Keep what a sighting is worth and since when it waits; its place follows from the turns.

drop index queue_order_by_key;
drop index queue_order_by_observer;
alter table queue_order drop column sender_factor;
alter table queue_order drop column order_key;
create index queue_order_by_value on queue_order (value desc, sighting, observer);
create index queue_order_by_since on queue_order (since, sighting, observer);
delete from queue_rules;
