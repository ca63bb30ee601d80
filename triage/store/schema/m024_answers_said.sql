-- Keep which message a person says to be the answer to a question.

create table answers_said (
    id integer primary key,
    action_id integer not null references actions (id),
    code text not null references questions (code),
    message_id integer not null references messages (id)
) strict;
create index answers_said_by_code on answers_said (code);
create index answers_said_by_action on answers_said (action_id);
