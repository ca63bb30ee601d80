"""Decode bytes whose charset label may be wrong."""

from __future__ import annotations

import codecs
import re

from triage.standards.data_files import toml_of

_SUPERSETS: dict[str, str] = toml_of("triage.mail", "charsets.toml")["supersets"]

_UNKNOWN_LABELS = {"", "unknown-8bit", "x-unknown", "x-user-defined", "default", "unknown", "8bit"}

# Codecs of the standard library that are not charsets of text.
_NOT_TEXT = {"idna", "punycode", "unicode_escape", "raw_unicode_escape", "undefined", "mbcs", "oem"}

# UTF-8 read as Windows-1252 starts its two-byte letters with these two (U+00C0 to U+00DF).
_MOJIBAKE = re.compile("[\u00c2-\u00df][\u0080-\u00bf\u0152-\u02dc\u2013-\u2122]")
_NO_LETTER = re.compile("([\u0081\u008d\u008f\u0090\u009d])")
_C1_CONTROLS = re.compile("[\u0080-\u009f]")


def decode_text(content: bytes, label: str) -> tuple[str, str]:
    """Decode text; return it with a problem in words, empty if the label was right.

    The label is tried first, then UTF-8, then Windows-1252, which reads anything. ISO-2022-JP
    and UTF-7 are recognised by their escapes where no label names them.

    Examples
    --------
    >>> decode_text("Zürich".encode("cp1252"), "utf-8")
    ('Zürich', 'the text is not utf-8 as its label says; read as cp1252')
    """
    if content[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return content.decode("utf-16", "replace"), ""
    content = content.removeprefix(codecs.BOM_UTF8)
    name = label.strip().strip("\"'").lower()
    for charset in _candidates(content, name):
        try:
            text = content.decode(charset)
        except (UnicodeError, LookupError, ValueError):
            continue
        text, repaired = _undo_mojibake(text)
        return text, _problem(name, charset, repaired)
    return content.decode("cp1252", "replace"), _problem(name, "cp1252", False)


def _candidates(content: bytes, name: str) -> list[str]:
    fallback = ["utf-8", "cp1252"]
    if name in _UNKNOWN_LABELS:
        if b"\x1b$" in content or b"\x1b(" in content:
            fallback.insert(0, "iso2022_jp_ext")
        return fallback
    charset = _SUPERSETS.get(name, name)
    try:
        codec = codecs.lookup(charset)
    except (LookupError, ValueError):
        return fallback
    # _is_text_encoding is how the standard library tells hex, zip and rot13 from charsets.
    if codec.name.replace("-", "_") in _NOT_TEXT or not getattr(codec, "_is_text_encoding", True):
        return fallback
    if charset == "cp1252" and not content.isascii():
        # A label of plain ASCII or Latin-1 over valid UTF-8 is nearly always UTF-8: the
        # byte pairs that UTF-8 needs are not words in any Latin-1 text.
        return ["utf-8", "cp1252"]
    return [charset, *fallback]


def _undo_mojibake(text: str) -> tuple[str, bool]:
    if not _MOJIBAKE.search(text):
        return text, False
    try:
        once = _as_windows_1252(text).decode("utf-8")
    except UnicodeError:
        return text, False
    # No text holds C1 control characters: what would become one was no letter encoded twice.
    return (text, False) if _C1_CONTROLS.search(once) else (once, True)


def _as_windows_1252(text: str) -> bytes:
    """Bytes by Windows-1252 as the WHATWG Encoding Standard has it: the five bytes that hold no
    letter are controls of the same number."""
    pieces = _NO_LETTER.split(text)
    return b"".join(
        piece.encode("latin-1" if number % 2 else "cp1252") for number, piece in enumerate(pieces)
    )


def _problem(name: str, charset: str, repaired: bool) -> str:
    if repaired:
        return "the text was encoded twice; read as utf-8"
    if name in _UNKNOWN_LABELS or name in ("ascii", "us-ascii"):
        return ""
    wanted = _SUPERSETS.get(name, name)
    if charset == wanted or charset.replace("-", "_") == wanted.replace("-", "_"):
        return ""
    return f"the text is not {name[:40]} as its label says; read as {charset}"
