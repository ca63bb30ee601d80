"""Link examined photos into copies and bursts; only new ones are compared with the rest."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from triage.duplicates import Fingerprint, burst_groups, copy_groups, find_links
from triage.duplicates.bursts import near_in_time
from triage.duplicates.fingerprints import SLIVER_PX
from triage.duplicates.narrowing import ALL_ARE_NEIGHBOURS
from triage.duplicates.neighbourhood import alike, questions
from triage.errors import TriageError
from triage.store import copies, grouping, previews
from triage.store.connection import Survey
from triage.workers.many import many_records
from triage.workers.progress import Progress, silent

if TYPE_CHECKING:
    from triage.analysis.images import Pixels

METHOD = "links 5"
MOST_NEIGHBOURS = 8_000  # of all senders and places of a night together: bounds time and memory


@many_records()
def link_new(
    survey: Survey, *, only: Collection[str] | None = None, progress: Progress = silent
) -> int:
    """Compare photos not yet linked with each other and with all the rest; returns new links.

    ``only`` leaves others for later. What was linked before is looked at again with what it was
    linked to: a place that people corrected brings new neighbours and loses no copy. So is what
    became another sender's, by an earlier mail or a person's word.
    """
    copies.compare_of_others(survey)
    new = copies.not_linked(survey, METHOD)
    if only is not None:
        new = [photo for photo in new if photo in only]
    if not new:
        return 0
    prints = copies.fingerprints(survey, new)
    linked = {end for one in copies.links_among(survey, new) for end in (one.first, one.second)}
    worth_a_look, senders = _may_be_linked(survey, prints, linked - prints.keys())
    sketched = copies.sketched_prints(survey, senders)
    worth_a_look |= senders.keys() - sketched.keys()
    narrowed = len(prints) + len(worth_a_look) + len(sketched) > ALL_ARE_NEIGHBOURS
    known = copies.narrowing_prints(survey, worth_a_look, senders=narrowed)
    progress("comparing", 0, len(new))
    links = find_links(
        list(prints.values()),
        [*known.values(), *sketched.values()],
        pixels=lambda photo: _grey(survey, photo),
        features=lambda photos: copies.local_features(survey, photos),
        whole=lambda photos: copies.fingerprints(survey, photos),
    )
    frames = [one.sha256 for one in near_in_time(list(prints.values()), list(known.values()))]
    with survey.transaction():
        unsketched = [known[photo] for photo in senders.keys() - sketched.keys()]
        copies.save_sketches(survey, [*prints.values(), *unsketched])
        before = copies.forget_links(survey, new) | copies.forget_neighbours(survey, frames)
        seen = {(one.first, one.second) for one in copies.links_among(survey, frames)}
        links = [one for one in links if (one.first, one.second) not in seen]
        copies.save_links(survey, links, photos=new, method=METHOD)
        _regroup(survey, {*new} | before, prints)
        touched = {photo for link in links for photo in (link.first, link.second)}
        grouping.mark_dirty(survey, touched | before | {*new})
    progress("comparing", len(new), len(new))
    return len(links)


def _may_be_linked(
    survey: Survey, new: dict[str, Fingerprint], linked: set[str]
) -> tuple[set[str], dict[str, str]]:
    """The known photos worth loading: all of a few, else those alike or near, and what is linked.

    Then, with their sender, those that only a sender has in common with new ones: of these the
    sketch tells whether they are worth it.
    """
    if copies.count_linked(survey, METHOD, most=ALL_ARE_NEIGHBOURS + 1) <= ALL_ARE_NEIGHBOURS:
        return set(copies.linked(survey, METHOD)) - new.keys(), {}
    found = set(linked)
    sent: dict[str, set[int]] = {}
    for asked in questions(new.values(), most=MOST_NEIGHBOURS):
        senders = {int(sender) for sender in asked.senders}
        limit, undated = asked.limit, asked.undated
        theirs = copies.of_senders(survey, senders, limit=limit, undated=undated)
        for photo, people in theirs.items():
            sent.setdefault(photo, set()).update(people)
        found |= copies.of_places(survey, asked.boxes, limit=limit, undated=undated)
        found |= copies.of_days(survey, asked.days) | copies.of_days_at(survey, asked.days_at)
    found |= {photo for photo, people in sent.items() if len(people) > 1}
    found |= alike(new.values(), copies.hashes_of_linked(survey, METHOD), nearby=sent)
    found -= new.keys()
    alone = sent.keys() - found - new.keys()
    return found, {photo: str(person) for photo in alone for person in sent[photo]}


def _grey(survey: Survey, photo: str) -> Pixels | None:
    """Grey pixels of a photo's small size; None where there is too little, or nothing to see."""
    from triage.analysis.images import decode, grey_of

    try:
        grey = grey_of(decode(previews.small(survey, photo)).rgb)
    except TriageError:
        return None
    return grey if min(grey.shape) >= SLIVER_PX else None


def _regroup(survey: Survey, changed: set[str], every: dict[str, Fingerprint]) -> None:
    """Compute the groups anew that the changed photos reach through links."""
    reached, frontier = set(changed), set(changed)
    links = {}
    while frontier:
        fresh = copies.links_among(survey, frontier)
        links.update({(link.first, link.second, link.kind): link for link in fresh})
        frontier = {p for link in fresh for p in (link.first, link.second)} - reached
        reached |= frontier
    missing = reached - every.keys()
    prints = {**every, **(copies.fingerprints(survey, missing) if missing else {})}
    here = [prints[photo] for photo in sorted(reached)]
    ordered = [links[key] for key in sorted(links)]
    for kind, groups in (
        ("copy", copy_groups([x for x in ordered if x.kind == "copy"], here)),
        ("burst", burst_groups(ordered, here)),
    ):
        found = [(one.identifier, one.members, one.best) for one in groups]
        copies.save_groups(survey, kind, found, reached)
