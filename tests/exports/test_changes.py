"""What changed between two exports is told by their manifests alone."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.errors import SourceError
from triage.exports import changes
from triage.exports.tables import columns_of, csv_bytes

COLUMNS = ("locationID", "locality")


def manifest(**localities: str) -> changes.Manifest:
    rows = [{"locationID": name, "locality": where} for name, where in localities.items()]
    return changes.manifest_of({"sites": (COLUMNS, rows)})


def written(folder: Path, made: changes.Manifest, name: str = "manifest.csv") -> Path:
    folder.mkdir(exist_ok=True)
    content = csv_bytes(columns_of("manifest"), changes.manifest_rows(made))
    (folder / name).write_bytes(content)
    return folder


def test_a_row_is_named_by_the_key_of_its_table():
    made = changes.manifest_of(
        {
            "photos": (("identifier",), [{"occurrenceID": "o1", "identifier": "p1"}]),
            "matches": (("share",), [{"occurrenceID": "o1", "locationID": ""}]),
        }
    )
    assert set(made) == {("photos", "o1 p1"), ("matches", "o1")}


def test_another_value_another_column_and_a_moved_value_change_the_digest():
    both = ("a", "b")
    rows = [{"a": "1", "b": ""}, {"a": "", "b": "1"}, {"a": "1", "b": "2"}, {"a": "12", "b": ""}]
    found = {
        changes.manifest_of({"sites": (both, [{**row, "locationID": "A"}])})["sites", "A"]
        for row in rows
    }
    assert len(found) == len(rows)
    more = changes.manifest_of({"sites": (("a",), [{"a": "1", "locationID": "A"}])})
    assert more["sites", "A"] not in found


def test_added_changed_withdrawn_and_untouched_rows_are_told_apart():
    before = manifest(A="Heron Mere", B="Alder Pool", C="Otter Reach")
    now = manifest(A="Heron Mere", B="Alder Pond", D="Bulrush Pit")
    assert [(row["change"], row["identifier"]) for row in changes.change_rows(before, now)] == [
        ("changed", "B"),
        ("withdrawn", "C"),
        ("added", "D"),
    ]


def test_the_same_rows_in_another_order_are_the_same_export():
    one, other = manifest(A="Heron Mere", B="Alder Pool"), manifest(B="Alder Pool", A="Heron Mere")
    assert changes.digest_of_all(one) == changes.digest_of_all(other)
    assert changes.digest_of_all(one) != changes.digest_of_all(manifest(A="Heron Mere"))


NAMES = st.text(st.characters(blacklist_categories=("Cs", "Cc")), min_size=1, max_size=8)


@given(st.dictionaries(NAMES, NAMES, max_size=5), st.dictionaries(NAMES, NAMES, max_size=5))
def test_changes_lead_from_one_export_to_the_other_and_back(before, now):
    first = changes.manifest_of({"sites": (COLUMNS, [_row(*one) for one in before.items()])})
    second = changes.manifest_of({"sites": (COLUMNS, [_row(*one) for one in now.items()])})
    there, back = changes.change_rows(first, second), changes.change_rows(second, first)
    opposite = {"added": "withdrawn", "withdrawn": "added", "changed": "changed"}
    assert [(opposite[row["change"]], row["identifier"]) for row in there] == [
        (row["change"], row["identifier"]) for row in back
    ]
    assert changes.change_rows(first, first) == []
    changed = {row["identifier"] for row in there}
    assert {name for name in before.keys() | now.keys() if before.get(name) != now.get(name)} == (
        changed
    )


def _row(name: str, where: str) -> dict[str, str]:
    return {"locationID": name, "locality": where}


def test_a_manifest_is_read_back_as_it_was_written(tmp_path: Path):
    made = manifest(A="Heron Mere", B='the "Mere", east')
    assert changes.read_manifest(written(tmp_path / "x", made)) == made
    assert changes.read_manifest(written(tmp_path / "y", made, "manifest-internal.csv")) == made


@pytest.mark.parametrize(
    ("content", "what"),
    [
        (None, "no export with a manifest"),
        (b"table,identifier\nsites,A\n", "cannot be read"),
        (b"table,identifier,sha256\nsites,\xff\xfe,1\n", "cannot be read"),
    ],
)
def test_a_folder_without_a_usable_manifest_is_named(tmp_path: Path, content, what: str):
    if content is not None:
        (tmp_path / "manifest.csv").write_bytes(content)
    with pytest.raises(SourceError, match=what) as refused:
        changes.read_manifest(tmp_path)
    assert str(tmp_path) in refused.value.failing
    assert refused.value.next_step
