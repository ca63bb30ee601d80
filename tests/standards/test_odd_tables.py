"""Tables as they come from real desks: read rightly or refused with the reason.

Each is a whole file, made up after what spreadsheets, exports and hurried people write.
"""

import os
import subprocess
import sys
from datetime import date
from functools import partial
from pathlib import Path

import pytest

from triage.checklist import Checklist, Taxon, read_checklist
from triage.determinations import read_determinations
from triage.errors import TableError
from triage.exuviae import read_lots, read_sites, read_visits, resolve_lots

TODAY = date(2026, 11, 24)
POLAND = {"area": (49.0, 14.1, 54.9, 24.2)}
sites_anywhere = read_sites
sites_of_zone = partial(read_sites, zone="Europe/Warsaw")
sites_of_area = partial(read_sites, **POLAND)
visits = partial(read_visits, today=TODAY)
lots = partial(read_lots, today=TODAY)

SITES = "locationID,locality,decimalLatitude,decimalLongitude\n"
RANKED = "catalogNumber,eventID,scientificName,taxonRank,individualCount\n"
TAXA = "scientificName,family\n"
NAMED = "catalogNumber,eventID,scientificName,individualCount,dateIdentified\n"
LOTS = "catalogNumber,eventID,scientificName,individualCount\n"
SAID = "sighting,scientificName,sex,identifiedBy\n"
VISITS = "eventID,locationID,eventDate\n"
ONE, TWO = "0123456789abcdef", "fedcba9876543210"
BLOTO = "Żabie Błoto"

# Name, reader, bytes, what must come out: rows taken, rows refused.
TAKEN = [
    ("UTF-8", sites_anywhere, (SITES + f"A,{BLOTO},53.9,21.7\n").encode(), BLOTO),
    (
        "UTF-8 with its mark",
        sites_anywhere,
        (SITES + f"A,{BLOTO},53.9,21.7\n").encode("utf-8-sig"),
        BLOTO,
    ),
    ("UTF-16", sites_anywhere, (SITES + f"A,{BLOTO},53.9,21.7\n").encode("utf-16"), BLOTO),
    (
        "UTF-16 without mark",
        sites_anywhere,
        (SITES + f"A,{BLOTO},53.9,21.7\n").encode("utf-16-le"),
        BLOTO,
    ),
    ("windows-1250", sites_anywhere, (SITES + f"A,{BLOTO},53.9,21.7\n").encode("cp1250"), BLOTO),
    ("ISO 8859-2", sites_anywhere, (SITES + f"A,{BLOTO},53.9,21.7\n").encode("latin2"), BLOTO),
    (
        "windows-1250, ą beside Ż",
        sites_anywhere,
        (SITES + "A,Żabia Łąka,53.9,21.7\n").encode("cp1250"),
        "Żabia Łąka",
    ),
    (
        "ISO 8859-2, ą beside Ż",
        sites_anywhere,
        (SITES + "A,Żabia Łąka,53.9,21.7\n").encode("latin2"),
        "Żabia Łąka",
    ),
    (
        "windows-1250, ś and ę",
        sites_anywhere,
        (SITES + "A,Śniardwy pod Świętajnem,53.9,21.7\n").encode("cp1250"),
        "Śniardwy pod Świętajnem",
    ),
    (
        "windows-1250, ś alone",
        sites_anywhere,
        (SITES + "A,Leśne,53.9,21.7\n").encode("cp1250"),
        "Leśne",
    ),
    (
        "windows-1252, French œ",
        sites_anywhere,
        (SITES + "A,Étang du Sacré-Cœur,53.9,21.7\n").encode("cp1252"),
        "Étang du Sacré-Cœur",
    ),
    (
        "UTF-8, Latin œ",
        sites_anywhere,
        (SITES + "A,Mare aux Cœnagrion cœrulescens,53.9,21.7\n").encode(),
        "Mare aux Cœnagrion cœrulescens",
    ),
    (
        "windows-1252, German",
        sites_anywhere,
        (SITES + "A,Großer Müllersee,53.9,21.7\n").encode("cp1252"),
        "Großer Müllersee",
    ),
    (
        "windows-1252, French",
        sites_anywhere,
        (SITES + "A,Étang à la forêt,53.9,21.7\n").encode("cp1252"),
        "Étang à la forêt",
    ),
    (
        "windows-1252, Norwegian",
        sites_anywhere,
        (SITES + "A,Bjørnvatn i Ålesund,53.9,21.7\n").encode("cp1252"),
        "Bjørnvatn i Ålesund",
    ),
    (
        "windows-1252, Spanish",
        sites_anywhere,
        (SITES + "A,Laguna del Señor Ñandú,53.9,21.7\n").encode("cp1252"),
        "Laguna del Señor Ñandú",
    ),
    (
        "windows-1252, quotation marks",
        sites_anywhere,
        (SITES + "A,Miller\u2019s pond \u2013 east,53.9,21.7\n").encode("cp1252"),
        "Miller\u2019s pond \u2013 east",
    ),
    (
        "semicolons and decimal commas",
        sites_anywhere,
        b"locationID;locality;decimalLatitude;decimalLongitude\nA;Mere;53,9;21,7\n",
        "Mere",
    ),
    (
        "a separator line",
        sites_anywhere,
        b"sep=;\nlocationID;locality;decimalLatitude;decimalLongitude\nA;Mere;53,9;21,7\n",
        "Mere",
    ),
    ("blank rows", sites_anywhere, (SITES + ",,,\nA,Mere,53.9,21.7\n,,,\n").encode(), "Mere"),
    ("a guarded name", sites_anywhere, (SITES + "A,'=Mere,53.9,21.7\n").encode(), "=Mere"),
    (
        "a name that begins with an apostrophe",
        sites_anywhere,
        (SITES + "A,'t Veld,53.9,21.7\n").encode(),
        "'t Veld",
    ),
    ("a site of the area", sites_of_area, (SITES + "A,Mere,53.9,21.7\n").encode(), "Mere"),
    ("a site of the zone", sites_of_zone, (SITES + "A,Mere,53.9,21.7\n").encode(), "Mere"),
]

# Name, reader, text, how many rows are taken, and the columns of the refused.
REFUSED = [
    (
        "both swapped, known by the zone",
        sites_of_zone,
        SITES + "A,x,21.7,53.9\nB,y,21.8,53.8\n",
        0,
        ["decimalLatitude"] * 2,
    ),
    (
        "one swapped of two, area",
        sites_of_area,
        SITES + "A,x,53.9,21.7\nB,y,21.8,53.8\n",
        1,
        ["decimalLatitude"],
    ),
    (
        "one swapped of two, zone",
        sites_of_zone,
        SITES + "A,x,53.9,21.7\nB,y,21.8,53.8\n",
        0,
        ["decimalLatitude"] * 2,
    ),
    (
        "one swapped of two, nothing else",
        sites_anywhere,
        SITES + "A,x,53.9,21.7\nB,y,21.8,53.8\n",
        0,
        ["decimalLatitude"] * 2,
    ),
    (
        "one swapped of three",
        sites_anywhere,
        SITES + "A,x,53.9,21.7\nB,y,53.8,21.6\nC,z,21.8,53.8\n",
        2,
        ["decimalLatitude"],
    ),
    ("a single swapped site", sites_of_area, SITES + "A,x,21.7,53.9\n", 0, ["decimalLatitude"]),
    (
        "a lost minus",
        sites_anywhere,
        SITES + "A,x,51.5,-2.6\nB,y,51.6,-2.5\nC,z,51.5,2.6\n",
        2,
        ["decimalLatitude"],
    ),
    (
        "a lost minus of the latitude",
        sites_anywhere,
        SITES + "A,x,-33.9,18.4\nB,y,-33.8,18.5\nC,z,33.9,18.4\n",
        2,
        ["decimalLatitude"],
    ),
    (
        "a decimal point one place off",
        sites_anywhere,
        SITES + "A,x,53.9,21.7\nB,y,53.8,21.6\nC,z,5.39,21.7\n",
        2,
        ["decimalLatitude"],
    ),
    (
        "a decimal point of the longitude",
        sites_of_area,
        SITES + "A,x,53.9,2.17\n",
        0,
        ["decimalLatitude"],
    ),
    (
        "no decimal points at all",
        sites_anywhere,
        SITES + "A,x,539108,217172\n",
        0,
        ["decimalLatitude"],
    ),
    (
        "outside the survey's area",
        sites_of_area,
        SITES + "A,x,-15.8,-47.9\n",
        0,
        ["decimalLatitude"],
    ),
    ("zero and zero", sites_anywhere, SITES + "A,x,0,0\n", 0, ["decimalLatitude"]),
    ("half a position", sites_anywhere, SITES + "A,x,53.9,\n", 0, ["decimalLongitude"]),
    ("letters of wrong axes", sites_anywhere, SITES + "A,x,53.9E,21.7N\n", 0, ["decimalLatitude"]),
    (
        "decimal commas in a comma table",
        sites_anywhere,
        SITES + 'A,x,"53,9","21,7"\n',
        1,
        [],
    ),
    (
        "the same site twice",
        sites_anywhere,
        SITES + "A,x,53.9,21.7\na,y,53.8,21.6\nB,z,53.7,21.5\n",
        1,
        ["locationID"] * 2,
    ),
    (
        "an identifier made a number",
        sites_anywhere,
        SITES + '"1,23457E+15",x,53.9,21.7\n',
        0,
        ["locationID"],
    ),
    (
        "an identifier made a date",
        sites_anywhere,
        SITES + "12-Feb,x,53.9,21.7\n",
        0,
        ["locationID"],
    ),
    ("a reference that broke", sites_anywhere, SITES + "#REF!,x,53.9,21.7\n", 0, ["locationID"]),
    (
        "a cell too narrow to show",
        sites_anywhere,
        SITES + "A,x,#######,21.7\n",
        0,
        ["decimalLatitude"],
    ),
    ("a total of lots", lots, LOTS + "L1,V1,Anax imperator,3\nTotal,,,3\n", 1, ["catalogNumber"]),
    ("a German total", lots, LOTS + "L1,V1,Anax imperator,3\n,,Summe:,3\n", 1, ["scientificName"]),
    ("a Polish total", lots, LOTS + "L1,V1,Anax imperator,3\n,RAZEM,,3\n", 1, ["eventID"]),
    ("a total without a word", lots, LOTS + "L1,V1,Anax imperator,3\n,,,3\n", 1, ["catalogNumber"]),
    ("a count in words", lots, LOTS + "L1,V1,Anax imperator,three\n", 0, ["individualCount"]),
    ("half a skin", lots, LOTS + "L1,V1,Anax imperator,2.5\n", 0, ["individualCount"]),
    ("a name of digits", lots, LOTS + "L1,V1,12,3\n", 0, ["scientificName"]),
    (
        "a genus called a species",
        lots,
        RANKED + "L1,V1,Coenagrion,species,3\n",
        0,
        ["taxonRank"],
    ),
    (
        "a species called a genus",
        lots,
        RANKED + "L1,V1,Anax imperator,genus,3\n",
        0,
        ["taxonRank"],
    ),
    (
        "a slip in the sex",
        lots,
        "catalogNumber,eventID,scientificName,individualCount,sex\nL1,V1,Anax imperator,3,Femal\n",
        0,
        ["sex"],
    ),
    (
        "a German letter for the sex",
        lots,
        "catalogNumber,eventID,scientificName,individualCount,sex\nL1,V1,Anax imperator,3,w\n",
        0,
        ["sex"],
    ),
    ("a year a century on", visits, VISITS + "V1,A,2126-06-13\n", 0, ["eventDate"]),
    ("tomorrow", visits, VISITS + "V1,A,2026-11-25\n", 0, ["eventDate"]),
    ("a year without its century", visits, VISITS + "V1,A,26-06-13\n", 0, ["eventDate"]),
    (
        "month and day that can be either",
        visits,
        VISITS + "V1,A,06/07/2026\nV2,A,2026-06-13\n",
        1,
        ["eventDate"],
    ),
    ("the thirty-first of June", visits, VISITS + "V1,A,2026-06-31\n", 0, ["eventDate"]),
    (
        "an end before its beginning",
        visits,
        VISITS + "V1,A,2026-06-13/2026-06-10\n",
        0,
        ["eventDate"],
    ),
    ("a day number of a spreadsheet", visits, VISITS + "V1,A,46186\n", 0, ["eventDate"]),
    (
        "named in the future",
        lots,
        NAMED + "L1,V1,Anax imperator,3,2126-10-15\n",
        0,
        ["dateIdentified"],
    ),
    (
        "a slip in the sex of a determination",
        read_determinations,
        SAID + f"{ONE},Aeshna,Femal,Ida\n",
        0,
        ["sex"],
    ),
    (
        "a Polish letter for the sex",
        read_determinations,
        SAID + f"{ONE},Aeshna,s,Ida\n",
        0,
        ["sex"],
    ),
    (
        "a sighting left to a spreadsheet",
        read_determinations,
        SAID + '"1,23457E+15",Aeshna,,Ida\n',
        0,
        ["sighting"],
    ),
    (
        "a sighting that lost its digits",
        read_determinations,
        SAID + "12345,Aeshna,,Ida\n",
        0,
        ["sighting"],
    ),
    ("no sighting", read_determinations, SAID + ",Aeshna,,Ida\n", 0, ["sighting"]),
    (
        "said twice",
        read_determinations,
        SAID + f"{ONE},Aeshna,,Ida\n{ONE},Anax,,ida\n",
        0,
        ["sighting"] * 2,
    ),
    (
        "neither yes nor no",
        read_determinations,
        f"sighting,scientificName,secondOpinion\n{ONE},Aeshna,perhaps\n",
        0,
        ["secondOpinion"],
    ),
    (
        "a slip in the stage of life",
        read_determinations,
        f"sighting,scientificName,lifeStage\n{ONE},Aeshna,tenerl\n",
        0,
        ["lifeStage"],
    ),
    (
        "two different identifiers",
        read_determinations,
        f"sighting,occurrenceID,scientificName\n{ONE},{TWO},Aeshna\n",
        0,
        ["occurrenceID"],
    ),
    (
        "a misspelt family",
        read_checklist,
        "scientificName,family\nAnax imperator,Aeschnidae\n",
        0,
        ["family"],
    ),
    (
        "a genus of two families",
        read_checklist,
        TAXA + "Anax imperator,Aeshnidae\nAnax parthenope,Libellulidae\n",
        1,
        ["family"],
    ),
    (
        "a count with an exponent",
        lots,
        LOTS + "L1,V1,Anax imperator,1E+03\n",
        0,
        ["individualCount"],
    ),
    ("a thousand or one", lots, LOTS + "L1,V1,Anax imperator,1.000\n", 0, ["individualCount"]),
    (
        "a thousand with a comma",
        lots,
        LOTS + 'L1,V1,Anax imperator,"1,000"\n',
        0,
        ["individualCount"],
    ),
    (
        "a thousand with a space",
        lots,
        LOTS + "L1,V1,Anax imperator,1 200\n",
        0,
        ["individualCount"],
    ),
    (
        "a count from three to five",
        lots,
        LOTS + "L1,V1,Anax imperator,3-5\n",
        0,
        ["individualCount"],
    ),
    ("about ten", lots, LOTS + "L1,V1,Anax imperator,ca. 10\n", 0, ["individualCount"]),
    ("ten or more", lots, LOTS + "L1,V1,Anax imperator,10+\n", 0, ["individualCount"]),
    ("fewer than none", lots, LOTS + "L1,V1,Anax imperator,-3\n", 0, ["individualCount"]),
    ("a day for a count", lots, LOTS + "L1,V1,Anax imperator,2026-06-13\n", 0, ["individualCount"]),
    (
        "the same as above",
        lots,
        LOTS + 'L1,V1,Anax imperator,3\nL2,V1,"""",3\n',
        1,
        ["scientificName"],
    ),
    (
        "one lot with two counts",
        lots,
        LOTS + "L1,V1,Anax imperator,3\nL1,V1,Anax imperator,4\n",
        0,
        ["catalogNumber"] * 2,
    ),
    ("a family called an order", lots, RANKED + "L1,V1,Aeshnidae,order,3\n", 0, ["taxonRank"]),
    ("a genus called a family", lots, RANKED + "L1,V1,Aeshna,family,3\n", 0, ["taxonRank"]),
    ("a rank in another language", lots, RANKED + "L1,V1,Anax imperator,Art,3\n", 0, ["taxonRank"]),
    ("an hour that no day has", visits, VISITS + "V1,A,2026-06-13T25:00\n", 0, ["eventDate"]),
    ("a minute that no hour has", visits, VISITS + "V1,A,2026-06-13T12:75\n", 0, ["eventDate"]),
    ("a thirteenth month", visits, VISITS + "V1,A,2026-13-04\n", 0, ["eventDate"]),
    ("the letter O for a nought", visits, VISITS + "V1,A,2O26-06-13\n", 0, ["eventDate"]),
    ("a day without a year", visits, VISITS + "V1,A,13/06\n", 0, ["eventDate"]),
    ("a formula for a day", visits, VISITS + "V1,A,=TODAY()\n", 0, ["eventDate"]),
    (
        "two digits exchanged",
        sites_anywhere,
        SITES + "A,x,53.9,21.7\nB,y,35.9,21.7\nC,z,53.8,21.6\n",
        2,
        ["decimalLatitude"],
    ),
    (
        "one number in both columns",
        sites_anywhere,
        SITES + "A,x,53.9,53.9\nB,y,53.8,21.6\nC,z,53.7,21.5\n",
        2,
        ["decimalLatitude"],
    ),
    (
        "a site without its name, shifted by a column",
        sites_anywhere,
        SITES + "A,x,53.9,21.7\nB,53.8,21.6,50\n",
        1,
        ["locality"],
    ),
    (
        "a site shifted by a column in a table with semicolons",
        sites_anywhere,
        (SITES + "A,x,53.9,21.7\nB,53.8,21.6,50\n").replace(",", ";").replace(".", ","),
        1,
        ["locality"],
    ),
    (
        "a site shifted where only its coordinates and the radius are filled",
        sites_anywhere,
        "locationID,locality,waterBody,decimalLatitude,decimalLongitude,"
        "coordinateUncertaintyInMeters\nA,x,,53.9,21.7,50\nB,y,53.8,21.6,60,\n",
        1,
        ["waterBody"],
    ),
    (
        "a site shifted by a column, in whole degrees",
        sites_anywhere,
        SITES + "A,x,53.9,21.7\nB,54,22,40\n",
        1,
        ["decimalLatitude"],
    ),
    (
        "a site shifted by a column, with units",
        sites_anywhere,
        SITES + "A,x,53.9,21.7\nB,53.93 N,21.71,35\nC,53.93°,21.71,35\n",
        1,
        ["locality"] * 2,
    ),
    (
        "two sites of one name, once without its accents",
        sites_anywhere,
        SITES + "A,Żabie Błoto,53.9,21.7\nB,Zabie Bloto,53.8,21.6\n",
        0,
        ["locality"] * 2,
    ),
    (
        "a time where somebody is named",
        visits,
        "eventID,locationID,eventDate,recordedBy\nV1,A,2026-06-13,14:30\n"
        "V2,A,2026-06-13,0000-0002-1825-0097\n",
        1,
        ["recordedBy"],
    ),
    (
        "a family in place of a genus",
        read_checklist,
        TAXA + "Aeshnidae imperator,Aeshnidae\nAnax imperator,Aeshnidae\n",
        1,
        ["scientificName"],
    ),
    (
        "two sites of one name",
        sites_anywhere,
        SITES + "A,Reed Pond,53.9,21.7\nB,x,53.8,21.6\nC,reed  pond,53.7,21.5\n",
        1,
        ["locality"] * 2,
    ),
    (
        "two sites of one point",
        sites_anywhere,
        SITES + "A,x,53.9,21.7\nB,y,53.900,21.7000001\nC,z,53.7,21.5\n",
        1,
        ["decimalLatitude"] * 2,
    ),
    (
        "a visit shifted by a column",
        visits,
        "eventID,locationID,eventDate,samplingProtocol,samplingEffort,recordedBy,passes\n"
        "V1,A,2026-06-13,60 min,Ruth Fenner,2,\n",
        0,
        ["recordedBy"],
    ),
    (
        "a lot whose determiner is a day",
        lots,
        "catalogNumber,eventID,scientificName,individualCount,recordedBy,identifiedBy,"
        "dateIdentified\nL1,V1,Anax imperator,3,Ruth Fenner,2026-10-15,\n",
        0,
        ["identifiedBy"],
    ),
    (
        "days that a spreadsheet writes for nothing",
        visits,
        VISITS + "V1,A,1899-12-30\nV2,A,1904-01-01\nV3,A,1900-01-00\nV4,A,1904-06-02\n",
        1,
        ["eventDate"] * 3,
    ),
    (
        "a genus in another family",
        read_checklist,
        TAXA + "Lestes sponsa,Libellulidae\nAnax imperator,Aeshnidae\n",
        1,
        ["family"],
    ),
    (
        "a genus itself in another family",
        read_checklist,
        "scientificName,taxonRank,family\nOrthetrum,genus,Gomphidae\n",
        0,
        ["family"],
    ),
    (
        "a family above that is not its own, and another genus",
        read_checklist,
        "scientificName,family,parentNameUsage\nAnax imperator,Aeshnidae,Lestidae\n"
        "Anax parthenope,Aeshnidae,Lestes\n",
        0,
        ["parentNameUsage"] * 2,
    ),
    ("metres of a grid", sites_anywhere, SITES + "A,x,5972345,34567\n", 0, ["decimalLatitude"]),
    ("no number at all", sites_anywhere, SITES + "A,x,NaN,21.7\n", 0, ["decimalLatitude"]),
    ("a family of beetles", read_checklist, TAXA + "Anax imperator,Carabidae\n", 0, ["family"]),
    (
        "a total of taxa",
        read_checklist,
        TAXA + "Anax imperator,Aeshnidae\nTotal,1\n",
        1,
        ["scientificName"],
    ),
    (
        "a doubt in a checklist",
        read_checklist,
        "scientificName,family\nAnax cf. imperator,Aeshnidae\n",
        0,
        ["scientificName"],
    ),
]

# Name, reader, bytes: the whole file is refused, with a question.
WHOLE = [
    ("read wrongly before", sites_anywhere, (SITES + "A,¯abie B³oto,53.9,21.7\n").encode()),
    ("UTF-8 saved twice", sites_anywhere, (SITES + "A,Å»abie BÅ‚oto,53.9,21.7\n").encode()),
    ("UTF-8 saved twice, German", sites_anywhere, (SITES + "A,MÃ¼llersee,53.9,21.7\n").encode()),
    (
        "an encoding of old consoles",
        sites_anywhere,
        (SITES + f"A,{BLOTO},53.9,21.7\n").encode("cp852"),
    ),
    (
        "an encoding of old Macintoshes",
        sites_anywhere,
        (SITES + "A,Föhrsee,53.9,21.7\n").encode("mac_roman"),
    ),
    (
        "an old Macintosh's umlaut in mid-word",
        sites_anywhere,
        (SITES + "A,Krähenmoor,53.9,21.7\n").encode("mac_roman"),
    ),
    (
        "another umlaut of old Macintoshes",
        sites_anywhere,
        (SITES + "A,Mönchsee,53.9,21.7\n").encode("mac_roman"),
    ),
    (
        "a line of another encoding",
        sites_anywhere,
        (SITES + "A,Żabie,53.9,21.7\n").encode() + "B,Mühle,53.8,21.6\n".encode("cp1252"),
    ),
    (
        "accents that fit two languages",
        sites_anywhere,
        (SITES + "A,Trąba,53.9,21.7\n").encode("cp1250"),
    ),
    ("UTF-8 cut in a letter", sites_anywhere, (SITES + f"A,{BLOTO},53.9,21.7\nB,Ż").encode()[:-1]),
    ("a workbook", sites_anywhere, b"PK\x03\x04" + b"\0" * 40),
    ("no header", lots, b"L1,V1,Anax imperator,3\n"),
    ("a column twice", lots, b"catalogNumber,eventID,scientificName,individualCount,eventID\n"),
    (
        "a slip in a header",
        lots,
        b"catalogNumber,eventID,scientificNam,individualCount\nL1,V1,Anax,3\n",
    ),
    (
        "who said it under another name",
        read_determinations,
        f"sighting,scientificName,determiner\n{ONE},Aeshna,Ida\n".encode(),
    ),
    (
        "a column of one's own",
        read_determinations,
        f"sighting,scientificName,notes\n{ONE},Aeshna,sure\n".encode(),
    ),
    ("a quotation mark never closed", lots, (LOTS + 'L1,V1,"Anax imperator,3\n').encode()),
    ("an empty file", lots, b""),
]


def test_there_are_at_least_a_hundred_odd_tables():
    assert len(TAKEN) + len(REFUSED) + len(WHOLE) >= 100


@pytest.mark.parametrize(
    ("reader", "content", "locality"), [t[1:] for t in TAKEN], ids=[t[0] for t in TAKEN]
)
def test_a_sound_table_is_read_in_its_own_letters(tmp_path, reader, content, locality):
    path = tmp_path / "table.csv"
    path.write_bytes(content)
    (site,), refused = reader(path)
    assert (site.locality, refused) == (locality, [])


@pytest.mark.parametrize(
    ("reader", "content", "taken", "columns"), [t[1:] for t in REFUSED], ids=[t[0] for t in REFUSED]
)
def test_an_odd_row_is_refused_and_the_others_are_taken(tmp_path, reader, content, taken, columns):
    path = tmp_path / "table.csv"
    path.write_text(content, encoding="utf-8")
    records, refused = reader(path)
    assert len(records) == taken
    assert [row.column for row in refused] == columns
    assert all(row.reason.endswith((".", "?")) for row in refused)


@pytest.mark.parametrize(("reader", "content"), [t[1:] for t in WHOLE], ids=[t[0] for t in WHOLE])
def test_a_file_that_cannot_be_understood_is_refused_whole(tmp_path, reader, content):
    path = tmp_path / "table.csv"
    path.write_bytes(content)
    with pytest.raises(TableError) as refusal:
        reader(path)
    assert "table.csv" in str(refusal.value)


def test_a_column_identified_by_is_the_determiner(tmp_path):
    path = tmp_path / "said.csv"
    path.write_text(f"Sighting,scientific name,identified_by,Sex\n{ONE},Aeshna,Ida Brenn,♂\n")
    (row,), refused = read_determinations(path)
    assert (row.identified_by, row.statement.sex, refused) == ("Ida Brenn", "male", [])


def test_a_row_that_nobody_filled_in_is_passed_over(tmp_path):
    path = tmp_path / "said.csv"
    path.write_text(SAID + f"{ONE},,,\n{TWO},,,Ida\n")
    assert read_determinations(path) == ([], [])


def test_a_site_is_compared_with_those_imported_before(tmp_path):
    path = tmp_path / "sites.csv"
    path.write_text(SITES + "A,x,53.9,21.7\nB,y,53.8,21.6\n")
    known, _ = read_sites(path)
    path.write_text(SITES + "C,z,21.8,53.8\n")
    assert [row.column for row in read_sites(path, known=known)[1]] == ["decimalLatitude"]


def test_a_genus_stays_in_the_family_that_the_survey_has_for_it(tmp_path):
    path = tmp_path / "taxa.csv"
    path.write_text(TAXA + "Zyxomma obtusum,Libellulidae\nZyxomma petiolatum,Libellulidae\n")
    known, _ = read_checklist(path)
    path.write_text(TAXA + "Zyxomma obtusum,Gomphidae\n")
    (refused,) = read_checklist(path, known=known)[1]
    assert refused.reason == (
        "Zyxomma stands under Libellulidae in the survey's checklist and Gomphidae on line 2."
        " Correct the wrong one."
    )
    path.write_text(TAXA + "Zyxomma obtusum,Gomphidae\nZyxomma petiolatum,Gomphidae\n")
    assert read_checklist(path, known=known)[1] == []  # a table that names them all corrects it


def test_sites_that_share_a_name_are_asked_about_once_and_both_are_named(tmp_path):
    path = tmp_path / "sites.csv"
    path.write_text(SITES + "A,Reed Pond,53.9,21.7\n")
    known, _ = read_sites(path)
    path.write_text(SITES + "B,reed pond,53.8,21.6\n")
    (refused,) = read_sites(path, known=known)[1]
    assert "B on line 2 has the name of A of the survey" in refused.reason
    both, none = read_sites(path, known=known, twins=True)
    assert ([site.location_id for site in both], none) == (["B"], [])
    assert read_sites(path, known=[*known, *both])[1] == []  # the survey has both: not asked again
    path.write_text(SITES + "B,reed pond,53.9,21.7\n")
    (refused,) = read_sites(path, known=[*known, *both])[1]
    assert "has the point of A" in refused.reason


@pytest.mark.skipif(sys.platform == "win32", reason="Windows limits no processor time")
@pytest.mark.parametrize(
    ("rows", "refused"),
    [
        ([f"S{number},Pool,53.5,21.5" for number in range(8_000)], 8_000),  # 80 s once
        ([f"S1,{'x' * 300_000}é,53.5,21.5"], 1),  # for ever
    ],
    ids=["one name and point", "one long word"],
)
def test_large_tables_are_read_in_seconds(rows: list[str], refused: int, tmp_path: Path):
    path = tmp_path / "sites.csv"
    path.write_text(
        "\n".join(["locationID,locality,decimalLatitude,decimalLongitude", *rows]), "utf-8"
    )
    program = (
        "import resource, sys; resource.setrlimit(resource.RLIMIT_CPU, (25, 25))\n"
        "from pathlib import Path; from triage.exuviae import read_sites\n"
        "print(len(read_sites(Path(sys.argv[1]))[1]))"
    )
    done = subprocess.run(
        [sys.executable, "-c", program, str(path)],
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, sys.path))},
        check=False,
    )
    assert done.stdout.strip() == str(refused), done.stderr[-500:]


def test_sites_on_both_sides_of_a_meridian_stand_once_the_area_says_so(tmp_path):
    path = tmp_path / "sites.csv"
    path.write_text(SITES + "A,x,51.5,-1.0\nB,y,51.5,1.0\n")
    assert len(read_sites(path)[1]) == 2
    assert read_sites(path, area=(50.0, -2.0, 53.0, 2.0))[1] == []


def test_a_lot_under_a_slip_of_a_name_counts_nowhere(tmp_path):
    path = tmp_path / "lots.csv"
    path.write_text(
        LOTS + "L1,V1,Anax imperator,3\nL2,V1,Aesna mixta,2\nL3,V1,Passer domesticus,1\n"
    )
    found, refused = lots(path)
    listed = Checklist([Taxon(scientific_name="Anax imperator", rank="species")])
    resolved, unresolved = resolve_lots(found, listed)
    assert refused == []
    assert [lot.catalog_number for lot in resolved] == ["L1"]
    assert [one.identifier for one in unresolved] == ["L2", "L3"]


PROTECTED = "locationID,locality,decimalLatitude,decimalLongitude,private,sensitivity\n"


@pytest.mark.parametrize(
    ("row", "stands"),
    [
        ("A,Garden,53.9,21.7,,", ("Garden", True, "2")),
        ("A,,53.9,21.7,,", ("Garden", True, "2")),
        ("A,n/a,53.9,21.7,no,no", ("Garden", False, "")),
        ("A,Garden,53.9,21.7,no,4", ("Garden", False, "4")),
    ],
)
def test_an_empty_cell_takes_no_name_and_no_protection_off(tmp_path, row, stands):
    path = tmp_path / "sites.csv"
    path.write_text(PROTECTED + "A,Garden,53.9,21.7,yes,2\n")
    known, _ = read_sites(path)
    path.write_text(PROTECTED + row + "\n")
    ((site,), refused) = read_sites(path, known=known)
    assert ((site.locality, site.private, site.sensitivity), refused) == (stands, [])


def test_a_checklist_without_a_column_keeps_what_the_survey_has(tmp_path):
    path = tmp_path / "taxa.csv"
    path.write_text(
        "scientificName,family,suborder,vernacularName,sensitive\n"
        "Anax imperator,Aeshnidae,Anisoptera,Emperor,1\n"
    )
    (known,), _ = read_checklist(path)
    path.write_text("scientificName,sensitive\nAnax imperator,\n")
    assert read_checklist(path, known=[known]) == ([known], [])
