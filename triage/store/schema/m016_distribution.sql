-- Note the list or bulk mailing through which a mail came.

alter table messages add column distribution text not null default '';
