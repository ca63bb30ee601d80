"""Texts that were encoded twice are read as meant; what only looks so is left alone."""

from __future__ import annotations

import pytest

from triage.mail.charsets import decode_text

NO_LETTER = {0x81, 0x8D, 0x8F, 0x90, 0x9D}


@pytest.mark.parametrize("meant", ["Łąka nad rzeką", "Zürich", "naïve – “quoted”", "żółw"])
def test_text_encoded_twice_is_read_as_meant(meant: str) -> None:
    """UTF-8 taken for Windows-1252 and encoded again, byte by byte (WHATWG Encoding Standard, whose
    Windows-1252 has a control for each of the five bytes without a letter)."""
    letters = [
        chr(byte) if byte in NO_LETTER else bytes([byte]).decode("cp1252")
        for byte in meant.encode("utf-8")
    ]
    twice = "".join(letters).encode("utf-8")
    assert decode_text(twice, "utf-8") == (meant, "the text was encoded twice; read as utf-8")


@pytest.mark.parametrize("text", ["ÂŒ-0.jpg", "Ã", "Â und Œ", "crème brûlée", "Ðeđ"])
def test_letters_that_only_look_encoded_twice_stay(text: str) -> None:
    assert decode_text(text.encode("utf-8"), "utf-8") == (text, "")
