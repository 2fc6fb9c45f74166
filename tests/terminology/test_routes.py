"""Routes are read from SNOMED CT codes, short codes and whole words, and from nothing less."""

import pytest

from weatherglass.fhir.datatypes import CodeableConcept, Coding
from weatherglass.fhir.reading.medicines.medication import route_of
from weatherglass.model.record.medicines import Route
from weatherglass.terminology.routes import route_in_dosage


def _said(text: str) -> Route:
    return route_of(CodeableConcept(text=text))


@pytest.mark.parametrize(
    ("text", "route"),
    [
        # Display names of SNOMED CT route concepts and of UK and US order forms.
        ("Oral", Route.ORAL),
        ("Oral route (qualifier value)", Route.ORAL),
        ("By mouth", Route.ORAL),
        ("PO", Route.ORAL),
        ("p/o", Route.ORAL),
        ("S/C", Route.SUBCUTANEOUS),
        ("i.v.", Route.INTRAVENOUS),
        ("Subcutaneous infusion", Route.SUBCUTANEOUS),
        ("NG", Route.ENTERAL),
        ("PEG", Route.ENTERAL),
        ("neb", Route.INHALED),
        ("Intravenous infusion", Route.INTRAVENOUS),
        ("IV bolus", Route.INTRAVENOUS),
        ("Subcutaneous route", Route.SUBCUTANEOUS),
        ("under the skin", Route.SUBCUTANEOUS),
        ("Intramuscular use", Route.INTRAMUSCULAR),
        ("Transdermal", Route.TRANSDERMAL),
        ("Apply patch to skin", Route.TRANSDERMAL),
        ("Epidural", Route.EPIDURAL),
        ("Intrathecal", Route.INTRATHECAL),
        ("Nasogastric tube", Route.ENTERAL),
        ("Percutaneous endoscopic gastrostomy", Route.ENTERAL),
        ("Sublingual", Route.SUBLINGUAL),
        ("under the tongue", Route.SUBLINGUAL),
        ("Oromucosal", Route.SUBLINGUAL),
        ("Per rectum", Route.RECTAL),
        ("PR", Route.RECTAL),
        ("Vaginal", Route.VAGINAL),
        ("Both eyes", Route.OPHTHALMIC),
        ("Left ear", Route.OTIC),
        ("Each nostril", Route.NASAL),
        ("Nebulised", Route.INHALED),
        ("Inhalation", Route.INHALED),
        ("Cutaneous", Route.TOPICAL),
        ("Topical", Route.TOPICAL),
        # Longer words that hold a shorter one.
        ("Pectoral block", Route.UNKNOWN),
        ("Temporal region", Route.UNKNOWN),
        ("Percutaneous", Route.UNKNOWN),
        ("Yearly", Route.UNKNOWN),
        ("Clear fluids", Route.UNKNOWN),
        ("Robotic", Route.UNKNOWN),
        ("Parenteral", Route.UNKNOWN),
        ("", Route.UNKNOWN),
    ],
)
def test_words(text: str, route: Route) -> None:
    """Each word of a route decides only as a whole word."""
    assert _said(text) is route


def test_code_before_words() -> None:
    """A SNOMED CT code decides before any display."""
    concept = CodeableConcept(coding=(Coding(code="47625008", display="Oral"),), text="Oral")
    assert route_of(concept) is Route.INTRAVENOUS


def test_nothing_recorded() -> None:
    """No concept and an empty one say nothing."""
    assert route_of(None) is Route.UNKNOWN
    assert route_of(CodeableConcept()) is Route.UNKNOWN


@pytest.mark.parametrize(
    ("text", "route"),
    [
        ("1 g/hour intravenous infusion", Route.INTRAVENOUS),
        ("20 mg over 24 hours by infusion", Route.INTRAVENOUS),
        ("10 mg over 24 hours subcutaneous infusion by syringe driver", Route.SUBCUTANEOUS),
        ("epidural infusion 10 mL/h", Route.EPIDURAL),
        ("5 mg by mouth twice daily", Route.ORAL),
        ("5 mg oral or IV", Route.UNKNOWN),
        ("one drop into each eye", Route.UNKNOWN),
        ("apply to the skin", Route.UNKNOWN),
        ("take with food", Route.UNKNOWN),
    ],
)
def test_the_words_of_a_dosage(text: str, route: Route) -> None:
    """One route into the body alone is taken: our choice; what acts where it is put is never inferred."""
    assert route_in_dosage(text) is route
