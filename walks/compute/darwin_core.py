"""Finds as Darwin Core: a table of occurrences, and the archive that describes it.

Terms: Darwin Core, TDWG, "List of Darwin Core terms" (http://rs.tdwg.org/dwc/terms/); the archive: "Darwin Core text
guide" (TDWG), one core file of the row type Occurrence with meta.xml and an EML file. An absence is written only
for what a complete list looked for: it says that so many people looked for so long, not that nothing grew there.
No names of people and no words that a user typed are in it.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields
from xml.sax.saxutils import escape

NAMESPACE = "http://rs.tdwg.org/dwc/terms/"
PRESENT, ABSENT = "present", "absent"


@dataclass(frozen=True, slots=True)
class Occurrence:
    """One row. The fields are named as their terms are; all are text, empty where nothing is known."""

    occurrenceID: str
    occurrenceStatus: str
    eventID: str
    eventDate: str
    samplingProtocol: str
    samplingEffort: str
    scientificName: str
    scientificNameAuthorship: str
    vernacularName: str
    kingdom: str
    decimalLatitude: str
    decimalLongitude: str
    coordinateUncertaintyInMeters: str
    dataGeneralizations: str
    countryCode: str
    organismQuantity: str = ""
    organismQuantityType: str = ""
    lifeStage: str = ""
    associatedTaxa: str = ""
    recordedBy: str = ""
    basisOfRecord: str = "HumanObservation"
    geodeticDatum: str = "EPSG:4326"


TERMS = tuple(one.name for one in fields(Occurrence))


def sampling_effort(minutes: int | None, people: int | None) -> str:
    """The effort in words: "90 minutes, 8 people"; empty where it is not known."""
    return f"{minutes} minutes, {people} people" if minutes and people else ""


def occurrence_csv(rows: Iterable[Occurrence]) -> str:
    """The rows under a line of term names, as RFC 4180 writes CSV."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(TERMS)
    writer.writerows([getattr(one, term) for term in TERMS] for one in rows)
    return out.getvalue()


def archive(rows: Sequence[Occurrence], *, title: str, publisher: str, email: str, day: str) -> dict[str, str]:
    """The files of a Darwin Core archive by name. `day`: ISO date of the writing."""
    return {
        "occurrence.csv": occurrence_csv(rows),
        "meta.xml": _meta(),
        "eml.xml": _eml(title=title, publisher=publisher, email=email, day=day),
    }


def _meta() -> str:
    numbered = "\n".join(f'    <field index="{place}" term="{NAMESPACE}{term}"/>' for place, term in enumerate(TERMS))
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<archive xmlns="http://rs.tdwg.org/dwc/text/" metadata="eml.xml">\n'
        '  <core encoding="UTF-8" fieldsTerminatedBy="," linesTerminatedBy="\\r\\n" fieldsEnclosedBy="&quot;"'
        f' ignoreHeaderLines="1" rowType="{NAMESPACE}Occurrence">\n'
        "    <files><location>occurrence.csv</location></files>\n"
        f'    <id index="{TERMS.index("occurrenceID")}"/>\n{numbered}\n  </core>\n</archive>\n'
    )


def _eml(*, title: str, publisher: str, email: str, day: str) -> str:
    party = (
        f"<organizationName>{escape(publisher)}</organizationName>"
        f"<electronicMailAddress>{escape(email)}</electronicMailAddress>"
    )
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<eml:eml xmlns:eml="https://eml.ecoinformatics.org/eml-2.2.0" packageId="finds" system="local">\n'
        f"  <dataset>\n    <title>{escape(title)}</title>\n    <creator>{party}</creator>\n"
        f"    <pubDate>{day}</pubDate>\n    <contact>{party}</contact>\n  </dataset>\n</eml:eml>\n"
    )
