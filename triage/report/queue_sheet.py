"""The queue as one HTML page with its pictures, which needs nothing else."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime

from triage.quality import Measurement


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetPhoto:
    """One picture of the sheet with all that was measured on it.

    ``data`` is a small JPEG in base64, empty when there is none.
    """

    photo: str
    data: str = field(repr=False)
    measurement: Measurement


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetEntry:
    """One sighting of the sheet; ``nearest`` are exuviae sites with metres."""

    position: int
    sighting: str
    score: float
    event_date: str
    place: str
    uncertainty: float | None
    nearest: tuple[tuple[str, float], ...]
    reasons: tuple[str, ...]
    changes: tuple[str, ...]
    dorsal: SheetPhoto | None
    lateral: SheetPhoto | None
    others: tuple[SheetPhoto, ...]

    @property
    def instead_of_dorsal(self) -> SheetPhoto | None:
        """The best other photo, where there is no back view."""
        return self.others[0] if self.dorsal is None and self.others else None

    @property
    def instead_of_lateral(self) -> SheetPhoto | None:
        """The best other photo that does not stand for the back view already."""
        if self.lateral is not None:
            return None
        left = self.others[1:] if self.instead_of_dorsal else self.others
        return left[0] if left else None

    @property
    def further(self) -> tuple[SheetPhoto, ...]:
        """What is shown small: everything that is not shown large."""
        large = (self.instead_of_dorsal, self.instead_of_lateral)
        return tuple(photo for photo in self.others if photo not in large)


def queue_sheet(entries: Sequence[SheetEntry], *, title: str, made_at: datetime) -> str:
    """Fill the page; every text is escaped, since names and places come from mail."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("triage.report"), autoescape=True, undefined=StrictUndefined
    )
    page = environment.get_template("queue.html")
    return page.render(entries=entries, title=title, made_at=made_at.strftime("%Y-%m-%d %H:%M UTC"))
