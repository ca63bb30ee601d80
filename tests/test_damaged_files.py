"""Every reader of what comes from outside takes its own files, and ten damaged ones of them."""

from __future__ import annotations

import pytest
from fuzzing import READERS, damaged


@pytest.mark.parametrize("name", READERS)
def test_a_reader_takes_whole_and_damaged_files(name: str):
    reader = READERS[name]
    files = reader.files()
    assert files
    for content in (*files, *damaged(files, count=10, seed=1)):
        reader.read(content)
