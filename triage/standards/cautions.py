"""The cautions that go wherever somebody is sent to a shore: reports, search sheets, replies."""

from __future__ import annotations

from triage.standards.data_files import toml_of

LANGUAGES: dict[str, tuple[str, ...]] = {
    language: tuple(lines)
    for language, lines in toml_of("triage.standards", "cautions.toml").items()
}


def cautions(language: str = "en") -> tuple[str, ...]:
    """All lines, in the order in which they should be read; the last defers to local rules.

    A language that is not there gives English: no cautions at all would be worse.
    """
    return LANGUAGES.get(language.partition("-")[0].lower(), LANGUAGES["en"])
