-- Note the rules of the queue where those of every derived table stand.

insert into derived_rules select 'queue_order', rules from queue_rules;
drop table queue_rules;
