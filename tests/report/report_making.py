"""A small made-up survey for the tests of reports: open, private and sensitive places, people."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from triage.checklist import Checklist, Taxon
from triage.determinations import Determination
from triage.exports import ExportContent, MediaRow, PersonRow, ReleasePolicy, SurveyMetadata
from triage.exports.release import prepare, secrets_of
from triage.exuviae import ExuviaeLot, Site, SiteMeasurement, Visit, complete_lots
from triage.matching import match_sightings
from triage.privacy import Secrets
from triage.report.material import (
    Loss,
    Material,
    ReportSettings,
    left_out,
    shown_content,
)
from triage.sightings import Sighting

BY = "https://creativecommons.org/licenses/by/4.0/"
FAST = ReportSettings(seed=7, rounds=60, permutations=99)

TAXA = (
    Taxon(scientific_name="Anax imperator", rank="species", family="Aeshnidae", season=(150, 260)),
    Taxon(scientific_name="Aeshna mixta", rank="species", family="Aeshnidae", season=(200, 300)),
    Taxon(
        scientific_name="Coenagrion puella",
        rank="species",
        family="Coenagrionidae",
        season=(130, 220),
    ),
    Taxon(
        scientific_name="Coenagrion hastulatum",
        rank="species",
        family="Coenagrionidae",
        season=(130, 210),
    ),
    Taxon(
        scientific_name="Leucorrhinia pectoralis",
        rank="species",
        family="Libellulidae",
        season=(135, 200),
        sensitive="2",
    ),
)

SITES = (
    Site(
        location_id="HM",
        locality="Heron Mere",
        decimal_latitude=53.902137,
        decimal_longitude=21.695461,
        coordinate_uncertainty_in_meters=60.0,
    ),
    Site(
        location_id="AP",
        locality="Alder Pool",
        decimal_latitude=53.910843,
        decimal_longitude=21.717219,
        coordinate_uncertainty_in_meters=40.0,
    ),
    Site(
        location_id="QG",
        locality="Quince Garden",
        decimal_latitude=53.931471,
        decimal_longitude=21.755583,
        coordinate_uncertainty_in_meters=15.0,
        private=True,
    ),
    Site(
        location_id="SM",
        locality="Sundew Mire",
        decimal_latitude=53.954183,
        decimal_longitude=21.786672,
        coordinate_uncertainty_in_meters=80.0,
        sensitivity="2",
    ),
)

_VISITS = (
    ("V1", "HM", "2026-05-24", 2),
    ("V2", "HM", "2026-06-12", 2),
    ("V3", "HM", "2026-07-10", 1),
    ("V4", "AP", "2026-05-20", 1),
    ("V5", "AP", "2026-06-05", 1),
    ("V6", "AP", "2026-07-20", 1),
    ("V7", "SM", "2026-06-20", 1),
)
_LOTS = (
    ("X1", "V1", "Coenagrion puella", "species", 12),
    ("X2", "V2", "Anax imperator", "species", 9),
    ("X3", "V2", "Coenagrion puella", "species", 3),
    ("X4", "V5", "Coenagrion puella", "species", 20),
    ("X5", "V5", "Coenagrion", "genus", 4),
    ("X6", "V7", "Leucorrhinia pectoralis", "species", 5),
    ("X7", "V4", "Coenagrion hastulatum", "species", 1),
)
# identifier, observer, day, latitude, longitude, name, rank, life stage
_SIGHTINGS = (
    ("s01", "P-1", "2026-06-20", 53.902337, 21.695761, "Anax imperator", "species", "adult"),
    ("s02", "P-1", "2026-06-21", 53.902537, 21.695261, "Coenagrion puella", "species", "adult"),
    ("s03", "P-2", "2026-06-24", 53.910743, 21.717519, "Coenagrion puella", "species", "adult"),
    ("s04", "P-2", "2026-08-24", 53.910943, 21.717319, "Aeshna mixta", "species", "adult"),
    ("s05", "P-3", "2026-06-26", 53.982347, 21.902761, "Coenagrion puella", "species", "teneral"),
    ("s06", "P-1", "2026-06-26", 53.982547, 21.902961, "Coenagrion puella", "species", "adult"),
    ("s07", "P-3", "2026-06-27", 53.931471, 21.755583, "Anax imperator", "species", "adult"),
    (
        "s08",
        "P-2",
        "2026-06-14",
        53.910643,
        21.717119,
        "Leucorrhinia pectoralis",
        "species",
        "adult",
    ),
    ("s09", "P-1", "2026-07-02", 53.902237, 21.695561, "", "", "adult"),
    ("s10", "P-1", "", 53.902237, 21.695561, "Anax imperator", "species", "adult"),
)
# sighting, determiner, name, outcome
_DETERMINATIONS = (
    ("s01", "P-1", "Anax imperator"),
    ("s01", "P-2", "Anax imperator"),
    ("s02", "P-1", "Coenagrion puella"),
    ("s02", "P-2", "Coenagrion hastulatum"),
    ("s03", "P-1", "Coenagrion puella"),
    ("s03", "P-2", "Coenagrion puella"),
    ("s04", "P-1", "Aeshna mixta"),
    ("s04", "P-2", ""),
)


def visits() -> tuple[Visit, ...]:
    return tuple(
        Visit(
            event_id=name,
            location_id=place,
            first_day=day,
            last_day=day,
            passes=passes,
            recorded_by="Ruth Fenner",
        )
        for name, place, day, passes in _VISITS
    )


def lots() -> tuple[ExuviaeLot, ...]:
    return tuple(
        ExuviaeLot(
            catalog_number=name,
            event_id=event,
            location_id="",
            first_day="",
            last_day="",
            scientific_name=taxon,
            taxon_rank=rank,
            individual_count=count,
            identified_by="Ruth Fenner",
        )
        for name, event, taxon, rank, count in _LOTS
    )


def sightings() -> tuple[Sighting, ...]:
    return tuple(
        Sighting(
            identifier=name,
            observer=observer,
            event_date=day,
            decimal_latitude=latitude,
            decimal_longitude=longitude,
            coordinate_uncertainty_in_meters=12.0,
            photos=(f"{name}-photo",),
            scientific_name=taxon,
            taxon_rank=rank,
            life_stage=stage,
            state="determined" if taxon else "queued",
        )
        for name, observer, day, latitude, longitude, taxon, rank, stage in _SIGHTINGS
    )


def content(**changes: Any) -> ExportContent:
    taxa = Checklist(TAXA)
    made = ExportContent(
        survey=SurveyMetadata(title="Linnet Water Survey", version="triage 0"),
        sightings=sightings(),
        determinations=tuple(
            Determination(
                identifier=f"{sighting}{who}",
                sighting=sighting,
                outcome="determined" if name else "cannot tell",
                scientific_name=name,
                taxon_rank="species" if name else "",
                identified_by=who,
                date_identified="2026-10-01T10:00:00Z",
            )
            for sighting, who, name in _DETERMINATIONS
        ),
        photos=tuple(
            MediaRow(
                sighting=one.identifier,
                sha256=one.photos[0],
                format="JPEG",
                width=64,
                height=48,
                view="dorsal",
                creator=one.observer,
                licence=BY,
                cleared_for_publication=one.identifier != "s02",
                is_best=True,
            )
            for one in sightings()
        ),
        matches=tuple(match_sightings(sightings(), SITES, visits(), lots(), taxa)),
        sites=SITES,
        visits=visits(),
        lots=tuple(complete_lots(lots(), visits())),
        people=(
            PersonRow(code="P-1", name="Anna Wilga", consent_to_name=True),
            PersonRow(code="P-2", name="Marek Olszak"),
            PersonRow(code="P-3", name="Greta Sumpf"),
        ),
        taxa=TAXA,
    )
    return replace(made, **changes)


def material(
    whole: ExportContent | None = None, *, internal: bool = False, **more: Any
) -> Material:
    whole = content() if whole is None else whole
    release = prepare(whole, ReleasePolicy(internal=internal))
    shown = shown_content(whole, release)
    made = Material(
        content=shown,
        release=release,
        checklist=Checklist(whole.taxa),
        losses=(Loss(stage="photos", reason="no dragonfly seen", count=2, total=12),),
        withheld=left_out(whole, shown),
        settings=FAST,
        stated=(("matching.movement_scale", "1.0"),),
    )
    return replace(made, **more)


def secrets(whole: ExportContent | None = None) -> Secrets:
    whole = content() if whole is None else whole
    return secrets_of(whole, prepare(whole, ReleasePolicy()))


def measurements() -> tuple[SiteMeasurement, ...]:
    return tuple(
        SiteMeasurement(
            location_id=site,
            measured_on="2026-06-01",
            variable="conductivity",
            value=value,
            unit="uS/cm",
            method="field meter",
        )
        for site, value in (("HM", 310.0), ("AP", 280.0), ("AP", 300.0), ("SM", 40.0))
    )
