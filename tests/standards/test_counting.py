"""Whatever is counted for people is said as people say it: "1 photo", "2 photos"."""

from __future__ import annotations

import re
from pathlib import Path

import triage

COUNTED_FOR_NOBODY = re.compile(r"\}\s?\"?\n?\s*f?\"?\s?(?:[a-z]+ )?[a-z]{2,}\((?:s|es)\)")


def test_no_screen_table_or_letter_counts_photos_as_photo_s():
    folder = Path(triage.__file__).parent
    written = [p for kind in ("py", "js", "html", "toml", "txt") for p in folder.rglob(f"*.{kind}")]
    found = {p.name: COUNTED_FOR_NOBODY.findall(p.read_text(encoding="utf-8")) for p in written}
    assert {name: words for name, words in found.items() if words} == {}
