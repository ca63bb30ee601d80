-- Let unsettled messages be counted and read by need and sender.

create index messages_by_need on messages (
    state, substr(state_reason, 1, instr(state_reason || ', ', ', ') - 1),
    sender_id, coalesce(sent_at, ''), identifier);
