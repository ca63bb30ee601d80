"""What one determiner said of one sighting, and where the sighting stands after all of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from triage.standards.darwin_core import name_with_qualifier

DeterminationOutcome = Literal["determined", "cannot tell", "not an adult"]
SightingState = Literal["queued", "determined", "second opinion", "undeterminable", "set aside"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Determination:
    """One statement by one determiner about one sighting; a later one by the same supersedes it.

    ``scientific_name`` is empty unless the outcome is ``determined``; ``photos`` are the digests
    it was made on. ``date_identified`` is an ISO instant in UTC, ``verbatim_identification`` the
    name with its doubt in the determiner's own words.
    """

    identifier: str
    sighting: str
    outcome: DeterminationOutcome
    scientific_name: str = ""
    taxon_rank: str = ""
    qualifier: str = ""
    verbatim_identification: str = ""
    sex: str = ""
    life_stage: str = ""
    behavior: str = ""
    reason: str = ""
    remarks: str = ""
    identified_by: str
    date_identified: str
    second_opinion: bool = False
    photos: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Accepted:
    """Where a sighting stands: its state, the accepted name if any, and the reason in words.

    ``agreed``: determiners who disagree below this name agree on it, so it counts.
    """

    state: SightingState
    scientific_name: str = ""
    taxon_rank: str = ""
    qualifier: str = ""
    sex: str = ""
    reason: str = ""
    agreed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """What a determiner says about one sighting: one name, or why there is none.

    As typed, ``taxon`` holds the words; once read, the accepted name, and ``verbatim`` the words.
    """

    taxon: str = ""
    cannot_tell: str = ""
    not_an_adult: str = ""
    qualifier: str = ""
    sex: str = ""
    life_stage: str = ""
    behavior: str = ""
    remarks: str = ""
    second_opinion: bool = False
    taxon_rank: str = ""
    verbatim: str = ""

    @property
    def outcome(self) -> DeterminationOutcome:
        """Which of the three it is."""
        if self.taxon:
            return "determined"
        return "cannot tell" if self.cannot_tell else "not an adult"

    @property
    def words(self) -> str:
        """What was said, in few words, for the log."""
        return name_with_qualifier(self.taxon, self.qualifier) or self.reason

    @property
    def sentence(self) -> str:
        """All that was said, to be read back to whoever said it."""
        why = {
            "determined": "",
            "cannot tell": "cannot be told: ",
            "not an adult": "not an adult: ",
        }
        pieces = (
            why[self.outcome] + self.words,
            self.sex,
            self.life_stage,
            self.behavior,
            f"remarks: {self.remarks}" if self.remarks else "",
            "a second opinion is asked for" if self.second_opinion else "",
        )
        return "; ".join(piece for piece in pieces if piece)

    @property
    def reason(self) -> str:
        """Why there is no name, if there is none."""
        return self.cannot_tell or self.not_an_adult


# What a statement and its record call by the same name.
_SAME = ("taxon_rank", "qualifier", "sex", "life_stage", "behavior", "remarks", "second_opinion")


def recorded(
    said: Statement, *, identifier: str, sighting: str, by: str, at: str, photos: tuple[str, ...]
) -> Determination:
    """The record of a statement that was read: by whom (a code) and when, on which photos."""
    same: dict[str, Any] = {name: getattr(said, name) for name in _SAME}
    return Determination(
        identifier=identifier,
        sighting=sighting,
        outcome=said.outcome,
        scientific_name=said.taxon,
        verbatim_identification=said.verbatim,
        reason=said.reason,
        identified_by=by,
        date_identified=at,
        photos=photos,
        **same,
    )


def said_by(one: Determination) -> Statement:
    """What the determiner said when this was recorded, to compare it with a new statement."""
    same: dict[str, Any] = {name: getattr(one, name) for name in _SAME}
    return Statement(
        taxon=one.scientific_name,
        cannot_tell=one.reason if one.outcome == "cannot tell" else "",
        not_an_adult=one.reason if one.outcome == "not an adult" else "",
        verbatim=one.verbatim_identification or one.scientific_name,
        **same,
    )
