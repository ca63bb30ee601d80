-- As whose a photo was compared: frames of one burst are one sender's, and who that is may change.

alter table photos add column linked_sender text not null default '';
