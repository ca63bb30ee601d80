"""Decide what may be said of each person, place, date and photo.

Rows are built from this alone, so there is one place where anything is let through.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from decimal import Decimal

from triage import privacy
from triage.analysis import geodesy
from triage.checklist import Taxon
from triage.exports.content import ExportContent, MediaRow, PersonRow
from triage.exuviae import Site
from triage.metadata.private_places import MAY_BE_PRIVATE
from triage.privacy import ReleasedPoint, ReleasePolicy, Secrets, Sensitivity
from triage.sightings import Sighting
from triage.standards.darwin_core import persistent_id

INTERNAL_MARK = "internal: for the survey's own eyes, not for release"
UNKNOWN_RADIUS_METRES = 100.0  # a place of unknown uncertainty, when asked whether it is near a
# sensitive site; the value that Darwin Core gives for old receivers, taken as the cautious one

_LISTED = re.compile(r"\s*[|;]\s*")


@dataclass(frozen=True, slots=True, kw_only=True)
class Release:
    """What may be said. Made by :func:`prepare`; all look-ups are by our identifiers."""

    policy: ReleasePolicy
    person_texts: dict[str, str]
    orcids: dict[str, str]
    site_sensitivity: dict[str, Sensitivity]
    site_points: dict[str, ReleasedPoint]
    lot_points: dict[str, ReleasedPoint]
    sighting_points: dict[str, ReleasedPoint]
    site_ids: dict[str, str]
    lot_sensitivity: dict[str, Sensitivity]
    sighting_sensitivity: dict[str, Sensitivity]
    families: dict[str, str]
    authorships: dict[str, str]
    survey_identifier: str
    secret_names: tuple[str, ...] = field(repr=False)
    secret_places: tuple[str, ...] = field(repr=False)

    @property
    def internal(self) -> bool:
        return self.policy.internal

    @property
    def mark(self) -> str:
        """What names of files and folders end with where they are not for release."""
        return "-internal" if self.internal else ""

    def hides_site(self, location_id: str) -> bool:
        """Whether a site is known and what is there must not be told."""
        wanted = self.site_sensitivity.get(location_id)
        return wanted is not None and wanted.hidden and not self.internal

    def hides_sighting(self, identifier: str) -> bool:
        """Whether a sighting's place, time of day and people must not be told."""
        return self.sighting_sensitivity[identifier].hidden and not self.internal

    def hides_lot(self, catalog_number: str) -> bool:
        """Whether a lot's visit, place and people must not be told."""
        return self.lot_sensitivity[catalog_number].hidden and not self.internal

    def identifier(self, kind: str, number: str) -> str:
        """The globally unique identifier of a site, visit or lot by the number people gave it."""
        return persistent_id(kind, number, survey=self.survey_identifier)

    def person(self, text: str) -> str:
        """Names or codes, several separated by ``|`` or ``;``, as they may be released."""
        parts = [part for part in _LISTED.split(text.strip()) if part]
        return " | ".join(self.person_texts[_key(part)] for part in parts)

    def orcid(self, text: str) -> str:
        """The ORCID iRIs that go with :meth:`person`."""
        parts = [part for part in _LISTED.split(text.strip()) if part]
        found = [self.orcids.get(_key(part), "") for part in parts]
        return " | ".join(found) if all(found) else ""

    def free_text(self, text: str) -> str:
        """Remarks without names, addresses, links, hidden places and coordinates."""
        if self.internal:
            return text
        return privacy.redact(text, names=self.secret_names, places=self.secret_places)

    def place_text(self, text: str) -> str:
        """A name of a place without whole names of people and without hidden places.

        Single parts of a name stay: Reed Lake is not about Ada Reed.
        """
        if self.internal:
            return text
        return privacy.redact(text, places=(*self.secret_names, *self.secret_places))

    def location_id(self, location_id: str) -> str:
        """The site's identifier as released; nothing for a site that the survey does not know."""
        return self.site_ids.get(location_id, location_id if self.internal else "")

    def releases_media(self, photo: MediaRow) -> bool:
        """Whether the photo may be shown at all: licensed, cleared, not held back for another
        reason, and of no hidden place."""
        if self.internal:
            return True
        hidden = self.sighting_sensitivity[photo.sighting].hidden
        allowed = bool(photo.licence) and photo.cleared_for_publication and not photo.held_back
        return allowed and not hidden


def prepare(content: ExportContent, policy: ReleasePolicy) -> Release:
    """Decide once, for every record, what may be said of it."""
    site_sensitivity = {
        site.location_id: privacy.sensitivity(
            policy, site_categories=[site.sensitivity], private_home=site.private
        )
        for site in content.sites
    }
    taxa = _TaxonCategories(content.taxa, policy)
    hidden_sites = [site for site in content.sites if site_sensitivity[site.location_id].hidden]
    person_texts, orcids, secret_names = _people(content, policy)
    survey_identifier = content.survey.identifier or content.survey.title
    lot_sensitivity = _lots(content, policy, taxa)
    sighting_sensitivity = _sightings(content, policy, taxa)
    sites = {site.location_id: site for site in content.sites}

    def point(record: Sighting | Site, wanted: Sensitivity) -> ReleasedPoint:
        place = (
            record.decimal_latitude,
            record.decimal_longitude,
            record.coordinate_uncertainty_in_meters,
        )
        return _exact(*place) if policy.internal else privacy.release_point(*place, wanted)

    return Release(
        policy=policy,
        person_texts=person_texts,
        orcids=orcids,
        site_sensitivity=site_sensitivity,
        site_points={name: point(site, site_sensitivity[name]) for name, site in sites.items()},
        lot_points={
            lot.catalog_number: point(sites[lot.location_id], lot_sensitivity[lot.catalog_number])
            if lot.location_id in sites
            else ReleasedPoint()
            for lot in content.lots
        },
        sighting_points={
            sighting.identifier: point(sighting, sighting_sensitivity[sighting.identifier])
            for sighting in content.sightings
        },
        site_ids={
            site.location_id: persistent_id("site", site.location_id, survey=survey_identifier)
            if site in hidden_sites and not policy.internal
            else site.location_id
            for site in content.sites
        },
        lot_sensitivity=lot_sensitivity,
        sighting_sensitivity=sighting_sensitivity,
        families={taxon.scientific_name: taxon.family for taxon in content.taxa},
        authorships={taxon.scientific_name: taxon.authorship for taxon in content.taxa},
        survey_identifier=survey_identifier,
        secret_names=secret_names,
        secret_places=tuple(
            phrase
            for site in hidden_sites
            for phrase in (site.locality, *site.aliases, site.water_body, site.location_id)
            if phrase
        ),
    )


def secrets_of(content: ExportContent, release: Release) -> Secrets:
    """What must not be found in the finished files: a second look, after the rules were applied.

    Names without consent, names of hidden places and of what was found there, permits, and every
    held coordinate finer than the release. Words that are too short or mere numbers are left out,
    and so is what the survey says of itself.
    """
    hidden_lots = {name for name, wanted in release.lot_sensitivity.items() if wanted.hidden}
    hidden_sites = {name for name, wanted in release.site_sensitivity.items() if wanted.hidden}
    words = {*release.secret_names, *release.secret_places}
    words |= {visit.permit for visit in content.visits}
    words |= {visit.event_id for visit in content.visits if visit.location_id in hidden_sites}
    words |= {lot.catalog_number for lot in content.lots if lot.catalog_number in hidden_lots}
    survey = content.survey
    public = f"{survey.title} {survey.description} {survey.contact_name} {survey.contact_address}"
    decimals = decimals_of(release.policy.release_precision)
    held: tuple[Sighting | Site, ...] = (*content.sightings, *content.sites)
    return Secrets(
        words=tuple(
            sorted(
                word
                for word in words
                if len(word.strip()) >= 4 and not word.isdigit() and word not in public
            )
        ),
        points=tuple(
            {
                (record.decimal_latitude, record.decimal_longitude, decimals)
                for record in held
                if record.decimal_latitude is not None and record.decimal_longitude is not None
            }
        ),
    )


def decimals_of(precision: float) -> int:
    """How many decimals a width in degrees has: 3 for 0.001.

    >>> decimals_of(0.001), decimals_of(0.5)
    (3, 1)
    """
    exponent = Decimal(repr(precision)).normalize().as_tuple().exponent
    return max(0, -int(exponent))


def _exact(
    latitude: float | None, longitude: float | None, uncertainty: float | None
) -> ReleasedPoint:
    if latitude is None or longitude is None:
        return ReleasedPoint()
    return ReleasedPoint(
        decimal_latitude=latitude,
        decimal_longitude=longitude,
        coordinate_uncertainty_in_meters=uncertainty if uncertainty and uncertainty > 0 else None,
    )


class _TaxonCategories:
    """A name in, its own and its ancestors' categories of sensitivity out."""

    def __init__(self, taxa: Iterable[Taxon], policy: ReleasePolicy) -> None:
        self._taxa = {name: taxon for taxon in taxa for name in taxon.synonyms}
        self._taxa |= {taxon.scientific_name: taxon for taxon in taxa}
        self._stated = dict(policy.sensitive_taxa)
        self._accepted = {name: taxon.scientific_name for name, taxon in self._taxa.items()}

    def of(self, scientific_name: str) -> set[str]:
        categories: set[str] = set()
        waiting, seen = [scientific_name], set[str]()
        while waiting:
            name = waiting.pop()
            if not name or name in seen:
                continue
            seen.add(name)
            categories.add(self._stated.get(name, ""))
            taxon = self._taxa.get(name)
            if taxon is not None:
                categories.add(taxon.sensitive)
                waiting += [taxon.scientific_name, taxon.parent, taxon.family, taxon.suborder]
                waiting += taxon.synonyms
            # A genus above a species that the checklist does not hold.
            waiting.append(" ".join(name.split()[:-1]))
        return categories - {""}


def _lots(
    content: ExportContent, policy: ReleasePolicy, taxa: _TaxonCategories
) -> dict[str, Sensitivity]:
    sites = {site.location_id: site for site in content.sites}
    found = {}
    for lot in content.lots:
        site = sites.get(lot.location_id)
        found[lot.catalog_number] = privacy.sensitivity(
            policy,
            site_categories=[site.sensitivity] if site else [],
            taxon_categories=taxa.of(lot.scientific_name),
            private_home=site.private if site else False,
        )
    return found


def _sightings(
    content: ExportContent, policy: ReleasePolicy, taxa: _TaxonCategories
) -> dict[str, Sensitivity]:
    names: dict[str, set[str]] = {s.identifier: {s.scientific_name} for s in content.sightings}
    for determination in content.determinations:
        names.setdefault(determination.sighting, set()).add(determination.scientific_name)
    for identifier, accepted in content.accepted.items():
        names.setdefault(identifier, set()).add(accepted.scientific_name)
    guarded = [site for site in content.sites if site.private or site.sensitivity]
    found: dict[str, Sensitivity] = {}
    for sighting in content.sightings:
        near = [site for site in guarded if _may_be_at(sighting, site)]
        found[sighting.identifier] = privacy.sensitivity(
            policy,
            site_categories=[site.sensitivity for site in near],
            taxon_categories=set().union(*map(taxa.of, names[sighting.identifier])),
            private_home=any(site.private for site in near)
            or MAY_BE_PRIVATE in content.in_doubt.get(sighting.identifier, ""),
        )
    return _spread_over_shared_photos(content, found)


def _may_be_at(sighting: Sighting, site: Site) -> bool:
    """Named as being there, or the two circles touch: the garden's own photo has no site name."""
    if sighting.location_id == site.location_id:
        return True
    metres = geodesy.metres_between(sighting, site)
    radius = sighting.coordinate_uncertainty_in_meters or UNKNOWN_RADIUS_METRES
    return metres is not None and metres <= radius + site.coordinate_uncertainty_in_meters


def _spread_over_shared_photos(
    content: ExportContent, found: dict[str, Sensitivity]
) -> dict[str, Sensitivity]:
    """Two animals in one photo share its place: the stricter rule holds for both."""
    holders: dict[str, set[str]] = {}
    for photo in content.photos:
        holders.setdefault(photo.sha256, set()).add(photo.sighting)
    for sighting in content.sightings:
        for sha256 in sighting.photos:
            holders.setdefault(sha256, set()).add(sighting.identifier)
    shared = [members & found.keys() for members in holders.values() if len(members) > 1]
    changed = True
    while changed:
        changed = False
        for members in shared:
            for one in members:
                for other in members - {one}:
                    stricter = _stricter(found[one], found[other])
                    changed = changed or stricter != found[one]
                    found[one] = stricter
    return found


def _stricter(first: Sensitivity, second: Sensitivity) -> Sensitivity:
    none = first.precision is None or second.precision is None
    return Sensitivity(
        precision=None if none else max(first.precision or 0, second.precision or 0),
        hidden=first.hidden or second.hidden,
        reasons=tuple(sorted({*first.reasons, *second.reasons})),
    )


def _people(
    content: ExportContent, policy: ReleasePolicy
) -> tuple[dict[str, str], dict[str, str], tuple[str, ...]]:
    texts: dict[str, str] = {}
    orcids: dict[str, str] = {}
    secret: list[str] = []
    for person in content.people:
        shown = bool(person.name) and (policy.internal or person.consent_to_name)
        if person.name and not shown:
            secret.append(person.name)
        for key in filter(None, (person.code, person.name)):
            texts[_key(key)] = person.name if shown else person.code
            if shown and person.orcid:
                orcids[_key(key)] = _orcid_iri(person)
    unlisted = sorted(
        {part for text in _all_people_texts(content) for part in _LISTED.split(text.strip())}
        - {""},
    )
    number = 0
    for name in unlisted:
        if _key(name) not in texts:
            number += 1
            texts[_key(name)] = name if policy.internal else f"unlisted person {number}"
            secret.append(name)
    return texts, orcids, tuple(secret)


def _orcid_iri(person: PersonRow) -> str:
    bare = person.orcid.rstrip("/").rpartition("/")[2]
    return f"https://orcid.org/{bare}"


def _all_people_texts(content: ExportContent) -> Iterable[str]:
    yield from (sighting.observer for sighting in content.sightings)
    yield from (determination.identified_by for determination in content.determinations)
    yield from (photo.creator for photo in content.photos)
    yield from (visit.recorded_by for visit in content.visits)
    yield from (text for lot in content.lots for text in (lot.recorded_by, lot.identified_by))


def _key(name: str) -> str:
    return " ".join(name.split()).casefold()
