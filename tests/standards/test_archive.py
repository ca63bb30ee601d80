"""Darwin Core Archives: the descriptor, the bytes, and what an independent reader makes of them."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest
from dwca.read import DwCAReader
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from triage.standards.archive import ArchiveTable, archive_bytes, meta_xml, one_line
from triage.standards.darwin_core import DWC, term_uri
from triage.standards.eml import DataSet, eml_document

# The content model of http://rs.tdwg.org/dwc/text/tdwg_dwc_text.xsd as the Darwin Core text guide
# describes it, rewritten by us as a RELAX NG grammar (attributes that we never write left out).
GRAMMAR = """
<grammar xmlns="http://relaxng.org/ns/structure/1.0" ns="http://rs.tdwg.org/dwc/text/"
         datatypeLibrary="http://www.w3.org/2001/XMLSchema-datatypes">
  <start><element name="archive">
    <attribute name="metadata"><data type="anyURI"/></attribute>
    <element name="core"><ref name="file"/>
      <element name="id"><ref name="index"/></element><ref name="fields"/></element>
    <zeroOrMore><element name="extension"><ref name="file"/>
      <element name="coreid"><ref name="index"/></element><ref name="fields"/></element>
    </zeroOrMore>
  </element></start>
  <define name="file">
    <attribute name="encoding"><value>UTF-8</value></attribute>
    <attribute name="fieldsTerminatedBy"/><attribute name="linesTerminatedBy"/>
    <attribute name="fieldsEnclosedBy"/>
    <attribute name="ignoreHeaderLines"><data type="integer"/></attribute>
    <attribute name="rowType"><data type="anyURI"/></attribute>
    <element name="files"><oneOrMore><element name="location"><text/></element></oneOrMore>
    </element>
  </define>
  <define name="index">
    <attribute name="index"><data type="nonNegativeInteger"/></attribute></define>
  <define name="fields"><oneOrMore><element name="field"><ref name="index"/>
    <attribute name="term"><data type="anyURI"/></attribute></element></oneOrMore></define>
</grammar>
"""

EML = eml_document(
    DataSet(
        package_id="urn:x",
        title="T",
        abstract="A",
        creator_organisation="O",
        publication_day="2026-11-01",
        rights="none",
    )
)


def core(*rows: dict[str, str]) -> ArchiveTable:
    names = ("occurrenceID", "scientificName", "occurrenceRemarks")
    return ArchiveTable(
        file_name="occurrence.csv",
        row_type=DWC + "Occurrence",
        columns={name: term_uri(name) for name in names},
        rows=rows,
    )


def history(*rows: dict[str, str]) -> ArchiveTable:
    return ArchiveTable(
        file_name="identification.csv",
        row_type=DWC + "Identification",
        columns={name: term_uri(name) for name in ("occurrenceID", "identificationRemarks")},
        rows=rows,
    )


def test_the_descriptor_follows_the_content_model_of_the_text_guide():
    document = etree.fromstring(meta_xml(core(), [history()]))
    grammar = etree.RelaxNG(etree.fromstring(GRAMMAR))
    assert grammar.validate(document), grammar.error_log


def test_every_attribute_that_readers_guess_at_is_written_out():
    element = etree.fromstring(meta_xml(core(), []))[0]
    assert element.get("fieldsEnclosedBy") == '"'
    assert element.get("linesTerminatedBy") == "\\n"
    assert element.get("ignoreHeaderLines") == "1"


def test_terms_are_full_uris_and_columns_are_counted_from_zero():
    fields = etree.fromstring(meta_xml(core(), []))[0].findall("{*}field")
    assert [field.get("index") for field in fields] == ["0", "1", "2"]
    assert fields[1].get("term") == "http://rs.tdwg.org/dwc/terms/scientificName"


awkward = st.text(st.characters(exclude_categories=["Cs"]), max_size=30)


@settings(max_examples=40, deadline=None)
@given(remarks=awkward, note=awkward)
def test_an_independent_reader_gets_back_every_value_on_one_line(tmp_path_factory, remarks, note):
    path = tmp_path_factory.mktemp("archive") / "a.zip"
    row = {"occurrenceID": "o1", "scientificName": 'Anax "x", y', "occurrenceRemarks": remarks}
    extension = history({"occurrenceID": "o1", "identificationRemarks": note})
    path.write_bytes(archive_bytes(core(row), [extension], eml=EML))
    with DwCAReader(str(path)) as archive:
        (read,) = list(archive)
        assert read.id == "o1"
        assert read.data[DWC + "scientificName"] == 'Anax "x", y'
        # That reader strips white space itself, ours included.
        assert read.data[DWC + "occurrenceRemarks"].strip() == one_line(remarks).strip()
        (told,) = read.extensions
        assert told.data[DWC + "identificationRemarks"].strip() == one_line(note).strip()


def test_the_same_rows_give_the_same_bytes_with_fixed_times():
    row = {"occurrenceID": "o1", "scientificName": "Anax"}
    first, second = (archive_bytes(core(row), [], eml=EML) for _ in range(2))
    assert first == second
    with zipfile.ZipFile(io.BytesIO(first)) as archive:
        assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert archive.namelist()[:2] == ["meta.xml", "eml.xml"]


@pytest.mark.parametrize(
    ("rows", "notes"),
    [
        ([{"occurrenceID": ""}], []),
        ([{"occurrenceID": "o1"}, {"occurrenceID": "o1"}], []),
        ([{"occurrenceID": "o1"}], [{"occurrenceID": "o2"}]),
    ],
)
def test_broken_identifiers_are_refused(rows, notes):
    with pytest.raises(ValueError, match=r"unique|belongs"):
        archive_bytes(core(*rows), [history(*notes)], eml=EML)


def test_two_files_of_one_name_are_refused():
    with pytest.raises(ValueError, match="called"):
        archive_bytes(core(), [history(), history()], eml=EML)


def test_a_file_that_is_written_opens_from_disk(tmp_path: Path):
    path = tmp_path / "a.zip"
    path.write_bytes(archive_bytes(core({"occurrenceID": "o1"}), [], eml=EML))
    with DwCAReader(str(path)) as archive:
        assert archive.metadata is not None
