"""What the survey says for the command line, in the words of the pages (said_here.toml)."""

from __future__ import annotations

import re

from triage.standards.data_files import toml_of


def at_desk(text: str) -> str:
    """What the survey says, with the page that has it in place of a command or an option.

    Examples
    --------
    >>> at_desk("See 'triage people' for what stands.")
    'See the people (Survey, People) for what stands.'
    """
    for said, here in toml_of("triage.desk", "said_here.toml")["pages"].items():
        text = re.sub(said, here, text)
    return text
