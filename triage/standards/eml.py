"""Write the metadata document of a data set (EML 2.2.0).

References
----------
Jones, M. B. et al. 2019. Ecological Metadata Language version 2.2.0. KNB Data Repository.
doi:10.5063/F11834T2
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from xml.etree import ElementTree

from triage.standards.archive import xml_text

EML_NAMESPACE = "https://eml.ecoinformatics.org/eml-2.2.0"
SCHEMA_LOCATION = f"{EML_NAMESPACE} https://eml.ecoinformatics.org/eml-2.2.0/eml.xsd"
XSI = "http://www.w3.org/2001/XMLSchema-instance"


@dataclass(frozen=True, slots=True, kw_only=True)
class DataSet:
    """What the metadata document says of a data set.

    ``bounds`` are west, east, north, south in decimal degrees, of what is released, or None;
    ``days`` the first and last ISO day, or None; ``taxa`` pairs of rank and name; ``methods``
    one paragraph for each step; ``study_extent`` and ``sampling`` say where and how was searched.
    ``contact_position`` is a role, such as "survey office": no person need be named.
    """

    package_id: str
    title: str
    abstract: str
    creator_organisation: str
    contact_position: str = ""
    contact_address: str = ""
    publication_day: str
    language: str = "en"
    rights: str
    licence_uri: str = ""
    place: str = ""
    bounds: tuple[float, float, float, float] | None = None
    days: tuple[str, str] | None = None
    taxa: Sequence[tuple[str, str]] = ()
    study_extent: str = ""
    sampling: str = ""
    methods: Sequence[str] = ()


def eml_document(data_set: DataSet) -> bytes:
    """The document as UTF-8 bytes, its elements in the order that the schema prescribes."""
    ElementTree.register_namespace("eml", EML_NAMESPACE)
    ElementTree.register_namespace("xsi", XSI)
    root = ElementTree.Element(
        f"{{{EML_NAMESPACE}}}eml",
        {
            "packageId": xml_text(data_set.package_id),
            "system": "triage",
            f"{{{XSI}}}schemaLocation": SCHEMA_LOCATION,
        },
    )
    dataset = ElementTree.SubElement(root, "dataset")
    _add(dataset, "title", data_set.title or "Untitled survey")
    for role in ("creator", "metadataProvider"):
        _party(dataset, role, data_set)
    _add(dataset, "pubDate", data_set.publication_day)
    _add(dataset, "language", data_set.language)
    _paragraphs(dataset, "abstract", [data_set.abstract or data_set.title or "No description."])
    _paragraphs(dataset, "intellectualRights", [data_set.rights])
    if data_set.licence_uri:
        licensed = ElementTree.SubElement(dataset, "licensed")
        _add(licensed, "licenseName", data_set.licence_uri)
        _add(licensed, "url", data_set.licence_uri)
    _coverage(dataset, data_set)
    _party(dataset, "contact", data_set)
    _methods(dataset, data_set)
    ElementTree.indent(root)
    document: bytes = ElementTree.tostring(root, encoding="utf-8", xml_declaration=True)
    return document + b"\n"


def _add(parent: ElementTree.Element, name: str, text: str) -> None:
    ElementTree.SubElement(parent, name).text = xml_text(text)


def _paragraphs(parent: ElementTree.Element, name: str, texts: Sequence[str]) -> None:
    element = ElementTree.SubElement(parent, name)
    for text in texts:
        _add(element, "para", text)


def _party(parent: ElementTree.Element, role: str, data_set: DataSet) -> None:
    party = ElementTree.SubElement(parent, role)
    _add(party, "organizationName", data_set.creator_organisation or "Untitled survey")
    if data_set.contact_position:
        _add(party, "positionName", data_set.contact_position)
    if data_set.contact_address:
        _add(party, "electronicMailAddress", data_set.contact_address)


def _coverage(dataset: ElementTree.Element, data_set: DataSet) -> None:
    if not (data_set.bounds or data_set.days or data_set.taxa):
        return
    coverage = ElementTree.SubElement(dataset, "coverage")
    if data_set.bounds:
        geographic = ElementTree.SubElement(coverage, "geographicCoverage")
        _add(geographic, "geographicDescription", data_set.place or "Area of the records released")
        box = ElementTree.SubElement(geographic, "boundingCoordinates")
        for side, value in zip(("west", "east", "north", "south"), data_set.bounds, strict=True):
            _add(box, f"{side}BoundingCoordinate", f"{value:.6f}".rstrip("0").rstrip("."))
    if data_set.days:
        temporal = ElementTree.SubElement(coverage, "temporalCoverage")
        range_of_dates = ElementTree.SubElement(temporal, "rangeOfDates")
        for name, day in zip(("beginDate", "endDate"), data_set.days, strict=True):
            _add(ElementTree.SubElement(range_of_dates, name), "calendarDate", day)
    if data_set.taxa:
        taxonomic = ElementTree.SubElement(coverage, "taxonomicCoverage")
        for rank, name in data_set.taxa:
            taxon = ElementTree.SubElement(taxonomic, "taxonomicClassification")
            _add(taxon, "taxonRankName", rank)
            _add(taxon, "taxonRankValue", name)


def _methods(dataset: ElementTree.Element, data_set: DataSet) -> None:
    if not data_set.methods:
        return
    methods = ElementTree.SubElement(dataset, "methods")
    for step in data_set.methods:
        _paragraphs(ElementTree.SubElement(methods, "methodStep"), "description", [step])
    if data_set.study_extent and data_set.sampling:
        sampling = ElementTree.SubElement(methods, "sampling")
        extent = ElementTree.SubElement(sampling, "studyExtent")
        _paragraphs(extent, "description", [data_set.study_extent])
        _paragraphs(sampling, "samplingDescription", [data_set.sampling])
