-- Matches say how likely a taxon emerges at a water, and within what range their share lies.

drop table matches; -- derived: the next 'triage match' writes it anew
create table matches (
    sighting text not null,
    location_id text not null,
    distance real, distance_least real, distance_most real,
    days_least integer, days_most integer,
    season text not null,
    taxon_agreement text not null check (taxon_agreement in
        ('same', 'compatible', 'conflicting', 'unknown')),
    agreement_rank text not null,
    movement_density real not null check (movement_density >= 0), -- per square kilometre
    presence real not null check (presence between 0 and 1),
    abundance real not null check (abundance >= 0),
    likelihood real not null check (likelihood >= 0),
    likelihood_near real not null check (likelihood_near >= 0),
    likelihood_far real not null check (likelihood_far >= 0),
    share real not null check (share between 0 and 1),
    share_low real not null check (share_low between 0 and 1),
    share_high real not null check (share_high between 0 and 1),
    reason text not null,
    passes integer not null check (passes >= 0),
    breeding_evidence text not null,
    exuviae_count integer not null check (exuviae_count >= 0),
    exuviae_years text not null check (json_valid(exuviae_years)),
    kernel text not null,
    primary key (sighting, location_id)
) strict;
