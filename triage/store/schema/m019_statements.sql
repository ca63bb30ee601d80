-- Keep what an action said and of what, so that a command given again is known again.

create table statements (
    action_id integer primary key references actions (id),
    digest text not null, -- of the words and of who said them
    stands text not null -- the digest of how it stood then
) strict;
create index statements_by_digest on statements (digest);
create table statement_subjects (
    action_id integer not null references actions (id),
    subject text not null,
    primary key (action_id, subject)
) strict;
create index statement_subjects_by_subject on statement_subjects (subject, action_id);
