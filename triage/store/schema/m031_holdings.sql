-- Keep how many messages, parts and photos there are, as rows come, change and go.

create table holdings ( -- derived
    what text not null,
    kind text not null,
    count integer not null,
    primary key (what, kind)
) without rowid, strict;
insert into holdings select 'messages', state, count(*) from messages group by state;
insert into holdings select 'parts', outcome, count(*) from parts group by outcome;
insert into holdings select 'photos', 'taken in', count(distinct sha256) from parts
    where outcome = 'taken in';
create trigger holdings_a after insert on messages begin
    insert into holdings values ('messages', new.state, 1)
        on conflict do update set count = count + 1;
end;
create trigger holdings_b after delete on messages begin
    update holdings set count = count - 1 where what = 'messages' and kind = old.state;
end;
create trigger holdings_c after update of state on messages when old.state <> new.state begin
    update holdings set count = count - 1 where what = 'messages' and kind = old.state;
    insert into holdings values ('messages', new.state, 1)
        on conflict do update set count = count + 1;
end;
create trigger holdings_d after insert on parts begin
    insert into holdings values ('parts', new.outcome, 1)
        on conflict do update set count = count + 1;
end;
create trigger holdings_e after delete on parts begin
    update holdings set count = count - 1 where what = 'parts' and kind = old.outcome;
end;
create trigger holdings_f after update of outcome on parts when old.outcome <> new.outcome begin
    update holdings set count = count - 1 where what = 'parts' and kind = old.outcome;
    insert into holdings values ('parts', new.outcome, 1)
        on conflict do update set count = count + 1;
end;
-- A photo in several mails is one: the first part with it counts.
create trigger holdings_g after insert on parts
    when new.outcome = 'taken in' and new.sha256 is not null and not exists (select 1 from parts
        where sha256 = new.sha256 and outcome = 'taken in' and id <> new.id) begin
    update holdings set count = count + 1 where what = 'photos';
end;
create trigger holdings_h after delete on parts
    when old.outcome = 'taken in' and old.sha256 is not null and not exists (select 1 from parts
        where sha256 = old.sha256 and outcome = 'taken in') begin
    update holdings set count = count - 1 where what = 'photos';
end;
create trigger holdings_i after update of outcome, sha256 on parts
    when old.outcome is not new.outcome or old.sha256 is not new.sha256 begin
    update holdings set count = count
        - (old.outcome = 'taken in' and old.sha256 is not null and not exists (select 1 from parts
            where sha256 = old.sha256 and outcome = 'taken in' and id <> old.id))
        + (new.outcome = 'taken in' and new.sha256 is not null and not exists (select 1 from parts
            where sha256 = new.sha256 and outcome = 'taken in' and id <> new.id))
        where what = 'photos';
end;
