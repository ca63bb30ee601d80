"""What went wrong, with which thing, and what to do next: the errors a person is shown."""

from __future__ import annotations


class TriageError(Exception):
    """A failure that a person can act on.

    Parameters
    ----------
    what : str
        What failed, in one clause without a final stop.
    failing : str
        The thing that failed: a path, a column, an identifier.
    next_step : str
        What the person can do about it, as a sentence.
    """

    def __init__(self, what: str, *, failing: str, next_step: str) -> None:
        self.what = what
        self.failing = failing
        self.next_step = next_step
        super().__init__(f"{failing}: {what}. {next_step}")


class SourceError(TriageError):
    """A source of mail or photos, or a file in one, could not be read."""


class SurveyError(TriageError):
    """The survey folder is missing, damaged, or made by a newer version."""


class SettingsError(TriageError):
    """A setting in survey.toml is unknown or out of range."""


class TableError(TriageError):
    """A table (CSV) as a whole cannot be imported; single bad rows are reported, not raised."""


class ChangedMeanwhileError(TriageError):
    """What was to be changed is another by now than what the person had before them."""


class UnknownError(TriageError):
    """The identifier, name or term given does not exist in this survey."""
