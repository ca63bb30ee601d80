"""Digests against the examples that the standard's authors publish."""

from __future__ import annotations

from pathlib import Path

import pytest

from triage.standards.digests import digest_of, digest_of_file, short_digest_of

# NIST, Cryptographic Standards and Guidelines, example values for SHA-256 ("abc", and the message
# of 448 bits), and SHA-256 of nothing as in NIST's short messages test, SHA256ShortMsg.rsp.
PUBLISHED = [
    (b"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
    (b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
    (
        b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
        "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
    ),
]


@pytest.mark.parametrize(("content", "digest"), PUBLISHED)
def test_digests_are_those_published(content, digest, tmp_path: Path):
    path = tmp_path / "file"
    path.write_bytes(content)
    assert digest_of(content) == digest_of_file(path) == digest
    assert short_digest_of(content.decode()) == digest[:16]


def test_letters_beyond_ascii_are_digested_as_utf_8():
    assert short_digest_of("Żabno") == digest_of("Żabno".encode())[:16]
