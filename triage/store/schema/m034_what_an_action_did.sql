-- Find what an action said of messages without reading what all others said.

create index message_states_by_action on message_states (action_id) where action_id is not null;
create index camera_corrections_by_action on camera_corrections (action_id);
