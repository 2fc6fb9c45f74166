"""Names and directions as German charts carry them (from memory)."""

from decimal import Decimal

import pytest

from tests.records import has_problem, patient, problem, reading_of
from weatherglass.model.record.care import DirectiveKind
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.terminology.doses.german_charts import plainly
from weatherglass.terminology.doses.worded_dose import says_as_needed, says_once, worded_dose
from weatherglass.terminology.medicine_names import ingredients_named
from weatherglass.terminology.medicines import identify


@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("Spironolacton 25mg", ("spironolactone",)),
        ("Metoprololsuccinat 47,5mg ret.", ("metoprolol",)),
        ("Bisoprololhemifumarat 5 mg", ("bisoprolol",)),
        ("Zoledronsäure 4 mg i.v.", ("zoledronic acid",)),
        ("Acetylsalicylsäure 100 mg", ("acetylsalicylic acid",)),
        ("ASS 100", ("acetylsalicylic acid",)),
        ("Morphin Perfusor 10mg/24h s.c.", ("morphine",)),
        ("Insulin glargin", ("insulin glargine",)),
        ("Kaliumchlorid 40 mmol", ("potassium chloride",)),
        ("Marcumar 3 mg Tabletten", ("phenprocoumon",)),
        ("Coumadin 5 mg tab", ("warfarin",)),
        ("Doliprane 1g", ()),
    ],
)
def test_names(name: str, found: tuple[str, ...]) -> None:
    """An ending, an acid in one word, a joined salt or form, and names that differ otherwise."""
    assert ingredients_named(name).ingredients == found


@pytest.mark.parametrize(
    ("name", "others"),
    [
        ("Pantoprazol 40 mg Filmtabletten", ()),
        ("Folsäure 5mg", ("folic acid",)),
        ("Novaminsulfon Tropfen", ("metamizole",)),
        ("Paracetamol 500 mg Zäpfchen", ("paracetamol",)),
        ("Calcimagon", ()),
    ],
)
def test_without_a_class(name: str, others: tuple[str, ...]) -> None:
    """What no rule speaks of is known too; an unknown trade name is not."""
    assert ingredients_named(name).others == others


@pytest.mark.parametrize(
    "name", ["Losart", "Zornivaxsuccinat", "Ramipri", "Natriumpicosulfat-Zornivax", "Kalium"]
)
def test_no_half_names(name: str) -> None:
    """Neither half a name nor a salt of an unknown one is recognised."""
    assert ingredients_named(name).ingredients == ()


@pytest.mark.parametrize(
    ("name", "route"),
    [
        ("Diclofenac 75mg Retardkapseln", Route.ORAL),
        ("Diclofenac Salbe", Route.TOPICAL),
        ("Timolol Augentropfen", Route.OPHTHALMIC),
        ("Fentanyl 25 µg/h Pflaster", Route.TRANSDERMAL),
        ("Diclofenac 100 mg Zäpfchen", Route.RECTAL),
        ("Codeintropfen", Route.UNKNOWN),
    ],
)
def test_routes(name: str, route: Route) -> None:
    """A form says its route; drops may be swallowed or not."""
    assert ingredients_named(name).route is route


@pytest.mark.parametrize(
    "system", ["http://fhir.de/CodeSystem/bfarm/atc", "http://fhir.de/CodeSystem/dimdi/atc"]
)
def test_the_german_classification(system: str) -> None:
    """The ATC classification under its German addresses."""
    assert identify([(system, "C03DA01")], []).ingredients == ("spironolactone",)


@pytest.mark.parametrize(
    ("words", "amount", "unit", "a_day"),
    [
        ("1-0-1", "1", "tablet", "2"),
        ("1-1-1-1", "1", "tablet", "4"),
        ("½-0-0", "0.5", "tablet", "0.5"),
        ("0,5-0-0", "0.5", "tablet", "0.5"),
        ("0-0-0-24 IE", "24", "unit", "24"),
        ("8-6-8-0 IE", "8", "unit", "22"),
        ("40 mg 1-1-0", "40", "mg", "80"),
        ("4-0-0", "4", "tablet", "4"),
        ("alle 8 Std. 1 g", "1", "g", "3"),
        ("5 ml 3x tgl.", "5", "mL", "15"),
        ("10 mg 1x wöchentlich", "10", "mg", "10/7"),
    ],
)
def test_doses(words: str, amount: str, unit: str, a_day: str) -> None:
    """Morning, noon, evening and night; the largest is the dose, the sum the day."""
    dose = worded_dose(plainly(words))
    assert dose is not None
    assert (dose.amount, dose.unit) == (Decimal(amount), unit)
    part, _, of = a_day.partition("/")
    assert dose.amount * dose.a_day == Decimal(part) / Decimal(of or 1)


@pytest.mark.parametrize(
    "words", ["5-0-0", "30-0-20", "2026-11-20", "0-0-0", "1-0-1 oder 2-0-2 mg 5 mg", "nach INR"]
)
def test_no_dose_is_made_up(words: str) -> None:
    """More than four without a unit, a date, nothing at all, and two amounts are not read."""
    assert worded_dose(plainly(words)) is None


def test_when_needed_and_once() -> None:
    """Needed, and for once."""
    assert says_as_needed(plainly("20 Tropfen bei Bedarf"))
    assert says_as_needed(plainly("1 Tbl. b.Bed."))
    assert says_once(plainly("10 mg einmalig"))
    assert not says_as_needed(plainly("1-0-1"))


@pytest.mark.parametrize(
    ("words", "kind"),
    [
        ("Schwangerschaft, 33. SSW", ConditionKind.PREGNANCY),
        ("33 SSW", ConditionKind.PREGNANCY),
        ("Palliativversorgung", ConditionKind.PALLIATIVE),
    ],
)
def test_problems_that_decide_what_is_pushed(words: str, kind: ConditionKind) -> None:
    """Of a problem list in German these are read; most others are not yet."""
    assert has_problem(words, kind)


def test_last_days_in_german() -> None:
    """A dated problem counts as last days."""
    ((_, record),) = reading_of(patient(), problem("Sterbephase", recordedDate="2026-03-01")).records
    assert DirectiveKind.END_OF_LIFE in [one.kind for one in record.directives]
