"""The metadata document: order of elements as EML 2.2.0 prescribes, and hostile text as text."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from triage.standards.eml import EML_NAMESPACE, DataSet, eml_document

# The order of the children of dataset in the schema of EML 2.2.0 (Jones et al. 2019,
# doi:10.5063/F11834T2): the resource group first, then those of a data set.
ORDER = (
    *("alternateIdentifier", "shortName", "title", "creator", "metadataProvider"),
    *("associatedParty", "pubDate", "language", "series", "abstract", "keywordSet"),
    *("additionalInfo", "intellectualRights", "licensed", "distribution", "coverage"),
    *("annotation", "purpose", "introduction", "gettingStarted", "acknowledgements"),
    *("maintenance", "contact", "publisher", "pubPlace", "methods", "project"),
)

FULL = DataSet(
    package_id="urn:uuid:0",
    title="Linnet Water Survey",
    abstract="Dragonflies & exuviae",
    creator_organisation="Linnet Water Survey",
    contact_position="Survey office",
    contact_address="survey@example.org",
    publication_day="2026-11-01",
    rights="CC BY 4.0",
    licence_uri="https://creativecommons.org/licenses/by/4.0/",
    bounds=(21.6, 21.8, 54.0, 53.8),
    days=("2026-05-01", "2026-09-30"),
    taxa=(("species", "Anax imperator"),),
    study_extent="11 sites",
    sampling="Passes along the shore.",
    methods=("Photos were sent in.",),
)


def test_the_elements_stand_in_the_order_of_the_schema():
    dataset = etree.fromstring(eml_document(FULL)).find("dataset")
    positions = [ORDER.index(child.tag) for child in dataset]
    assert positions == sorted(positions)


def test_what_is_minimally_useful_is_there():
    root = etree.fromstring(eml_document(FULL))
    assert root.tag == f"{{{EML_NAMESPACE}}}eml"
    assert root.get("packageId") == "urn:uuid:0"
    for name in (
        *("title", "creator", "metadataProvider", "pubDate", "language", "abstract/para"),
        *("intellectualRights/para", "contact", "methods/methodStep/description/para"),
        "coverage/taxonomicCoverage/taxonomicClassification/taxonRankValue",
    ):
        assert root.find(f"dataset/{name}") is not None, name
    box = root.find("dataset/coverage/geographicCoverage/boundingCoordinates")
    assert [child.tag[:5] for child in box] == ["westB", "eastB", "north", "south"]


@settings(deadline=None)
@given(st.text())
def test_any_text_gives_a_document_that_parses(text):
    data_set = DataSet(
        package_id=text,
        title=text,
        abstract=text,
        creator_organisation=text,
        contact_position=text,
        publication_day="2026-11-01",
        rights=text,
        taxa=((text, text),),
    )
    root = etree.fromstring(eml_document(data_set))
    assert len(root.find("dataset/title")) == 0
