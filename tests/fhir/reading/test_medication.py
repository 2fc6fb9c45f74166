"""Orders, statements and doses are read as senders write them; what is malformed takes nothing along."""

from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

import pytest

from tests.fhir.reading.taken import Taken, coded, take
from weatherglass.fhir import r4
from weatherglass.fhir.issues import IssueKey
from weatherglass.fhir.reading.medicines.medication import read_administration, read_request, read_statement
from weatherglass.model.record.medicines import Administration, MatchMethod, MedicineOrder, OrderStatus, Route

ATC = "http://www.whocc.no/atc"
NOON = "2026-03-10T12:00:00Z"
_IBUPROFEN = {"medicationCodeableConcept": coded("M01AE01", ATC, "Ibuprofen 400 mg tablets")}


def _ordered(**rest: Any) -> Taken:
    return take(
        read_request, r4.MedicationRequest, {"status": "active", "intent": "order", **_IBUPROFEN, **rest}
    )


def _order(**rest: Any) -> MedicineOrder:
    (only,) = _ordered(**rest).data.orders
    return only


@pytest.mark.parametrize(("behind", "daily"), [(" " + "x" * 178, Decimal(4)), (" " + "x" * 300, None)])
def test_words_too_long_to_be_read_whole_are_no_dose(behind: str, daily: Decimal | None) -> None:
    """What is cut off might say another dose; the limit is ours, from common practice, no source."""
    assert _order(dosageInstruction=[{"text": f"1 g four times daily{behind}"}]).daily_dose == daily


def _given(**rest: Any) -> Taken:
    whole = {"status": "completed", "effectiveDateTime": NOON, **_IBUPROFEN, **rest}
    return take(read_administration, r4.MedicationAdministration, whole)


def _dose(**rest: Any) -> Administration:
    (only,) = _given(**rest).data.administrations
    return only


class TestRequest:
    @pytest.mark.parametrize(
        ("status", "expected"),
        [
            ("active", OrderStatus.ACTIVE),
            ("on-hold", OrderStatus.ON_HOLD),
            ("stopped", OrderStatus.STOPPED),
            ("completed", OrderStatus.STOPPED),
            ("draft", OrderStatus.DRAFT),
        ],
    )
    def test_status(self, status: str, expected: OrderStatus) -> None:
        """HL7 FHIR R4, MedicationRequest.status: those that can be on a chart."""
        assert _order(status=status).status is expected

    @pytest.mark.parametrize(
        "rest",
        [
            {"status": "cancelled"},
            {"status": "entered-in-error"},
            {"status": "unknown"},
            {"doNotPerform": True},
            {"intent": "proposal"},
            {"intent": "option"},
        ],
        ids=str,
    )
    def test_not_meant_to_be_given(self, rest: dict[str, Any]) -> None:
        """What is no order in force is left out with an issue."""
        taken = _ordered(**rest)
        assert taken.data.orders == []
        assert taken.keys == [IssueKey.NOT_FINAL]

    def test_dose_day_and_bounds(self) -> None:
        """400 mg three times a day is 1200 mg; the bounds are the time in force."""
        repeat = {
            "frequency": 3,
            "period": 1,
            "periodUnit": "d",
            "boundsPeriod": {"start": "2026-03-09T08:00:00Z", "end": "2026-03-12T08:00:00Z"},
        }
        order = _order(
            dosageInstruction=[
                {
                    "text": "400 mg three times a day",
                    "timing": {"repeat": repeat},
                    "route": {"text": "Oral"},
                    "doseAndRate": [{"doseQuantity": {"value": 400, "unit": "mg", "code": "mg"}}],
                }
            ]
        )
        assert (order.dose, order.daily_dose, order.dose_unit) == (Decimal(400), Decimal(1200), "mg")
        assert order.route is Route.ORAL
        assert order.starts == datetime(2026, 3, 9, 8, tzinfo=UTC)
        assert order.ends == datetime(2026, 3, 12, 8, tzinfo=UTC)

    @pytest.mark.parametrize(
        ("timing", "a_day"),
        [
            # FHIR R4 value set timing-abbreviation: codes that stand for themselves, without `repeat`.
            ({"code": {"coding": [{"code": "QID"}]}}, Decimal(40)),
            ({"code": {"coding": [{"code": "Q4H"}]}}, Decimal(60)),
            ({"code": {"coding": [{"code": "QD"}]}}, Decimal(10)),
            ({"code": {"coding": [{"code": "QOD"}]}}, Decimal(5)),
            ({"code": {"coding": [{"code": "229798009", "display": "Three times daily"}]}}, Decimal(30)),
            ({"code": {"text": "BD"}}, Decimal(20)),
            ({"code": {"text": "as directed"}}, None),
            # `repeat` is said to be the more exact of the two.
            (
                {"code": {"text": "QID"}, "repeat": {"frequency": 1, "period": 1, "periodUnit": "d"}},
                Decimal(10),
            ),
            ({"repeat": {"timeOfDay": ["08:00:00", "20:00:00"]}}, Decimal(20)),
            ({"repeat": {"when": ["MORN", "NOON", "NIGHT"]}}, Decimal(30)),
        ],
    )
    def test_how_often_without_a_period(self, timing: dict[str, Any], a_day: Decimal | None) -> None:
        dose = [{"doseQuantity": {"value": 10, "unit": "mg"}}]
        assert _order(dosageInstruction=[{"timing": timing, "doseAndRate": dose}]).daily_dose == a_day

    @pytest.mark.parametrize(
        "repeat",
        [
            {"frequency": 1, "period": 1, "periodUnit": "wk", "dayOfWeek": ["mon"]},
            {"frequency": 1, "period": 1, "periodUnit": "d", "dayOfWeek": ["mon"]},
            {"dayOfWeek": ["mon"], "timeOfDay": ["08:00:00"]},
        ],
    )
    def test_on_one_day_of_the_week(self, repeat: dict[str, Any]) -> None:
        """FHIR R4 Timing.repeat.dayOfWeek: only on that day, so that weekly methotrexate is not daily."""
        dose = [{"doseQuantity": {"value": 14, "unit": "mg"}}]
        found = _order(dosageInstruction=[{"timing": {"repeat": repeat}, "doseAndRate": dose}]).daily_dose
        assert found is not None
        assert round(found, 6) == 2

    def test_a_taper_is_not_added_up(self) -> None:
        """FHIR R4 Dosage.sequence: different numbers follow one another, the same hold together."""

        def step(number: int, amount: int) -> dict[str, Any]:
            repeat = {"frequency": 1, "period": 1, "periodUnit": "d"}
            dose = [{"doseQuantity": {"value": amount, "unit": "mg"}}]
            return {"sequence": number, "timing": {"repeat": repeat}, "doseAndRate": dose}

        taper = _order(dosageInstruction=[step(1, 40), step(2, 30), step(3, 20)])
        assert (taper.dose, taper.daily_dose) == (Decimal(40), Decimal(40))
        together = _order(dosageInstruction=[step(1, 20), step(1, 10)])
        assert together.daily_dose == Decimal(30)

    @pytest.mark.parametrize(
        ("most", "period", "at_most"),
        [
            ({"value": 4, "unit": "g"}, {"value": 24, "unit": "h"}, Decimal(4000)),
            ({"value": 30, "unit": "mg"}, {"value": 1, "unit": "d"}, Decimal(30)),
            ({"value": 30, "unit": "mg"}, {"value": 1, "unit": "wk"}, None),
            ({"value": 8, "unit": "tablet"}, {"value": 24, "unit": "h"}, None),
        ],
    )
    def test_the_most_of_what_is_given_when_needed(
        self, most: dict[str, Any], period: dict[str, Any], at_most: Decimal | None
    ) -> None:
        """FHIR R4 Dosage.maxDosePerPeriod: the upper limit on medication per unit of time."""
        dosage = {
            "asNeededBoolean": True,
            "doseAndRate": [{"doseQuantity": {"value": 10, "unit": "mg"}}],
            "maxDosePerPeriod": {"numerator": most, "denominator": period},
        }
        order = _order(dosageInstruction=[dosage])
        assert (order.daily_dose, order.daily_at_most) == (None, at_most)
        # R5 has a list there, which takes nothing of the dosage away.
        later = _order(dosageInstruction=[{**dosage, "maxDosePerPeriod": [dosage["maxDosePerPeriod"]]}])
        assert (later.dose, later.daily_at_most) == (Decimal(10), None)

    @pytest.mark.parametrize(
        "dosage",
        [
            pytest.param([{"text": 5}], id="text-is-a-number"),
            pytest.param([{"timing": ["daily"]}], id="timing-is-a-list"),
            pytest.param("one daily", id="a-string"),
            pytest.param([{"doseAndRate": {"doseQuantity": {"value": 400}}}], id="no-list-of-doses"),
        ],
    )
    def test_dosage_that_cannot_be_read(self, dosage: Any) -> None:
        """The order is kept, the dosage is reported."""
        taken = _ordered(dosageInstruction=dosage)
        (order,) = taken.data.orders
        assert order.medicine.ingredients == ("ibuprofen",)
        assert (order.dose, order.dose_text) == (None, "")
        assert taken.keys == [IssueKey.WRONG_TYPE]
        assert taken.issues[0].path.startswith("Bundle.entry[0].resource.dosageInstruction")

    def test_one_bad_instruction_of_two(self) -> None:
        """A good instruction beside a bad one is used."""
        taken = _ordered(dosageInstruction=[{"text": ["x"]}, {"text": "400 mg at night"}])
        assert taken.data.orders[0].dose_text == "400 mg at night"
        assert taken.issues[0].path.endswith("dosageInstruction[0]")

    def test_code_of_a_medicine_without_a_rule(self) -> None:
        """A full ATC code outside every class is recognised; half a code is not."""
        known = _ordered(medicationCodeableConcept=coded("N02BE01", ATC, "Paracetamol 1 g"))
        assert known.data.orders[0].medicine.method is MatchMethod.ATC
        assert known.keys == []
        half = _ordered(medicationCodeableConcept=coded("C09", ATC, "Something for the pressure"))
        assert half.data.orders[0].medicine.method is MatchMethod.NONE
        assert half.keys == [IssueKey.MEDICINE_NOT_RECOGNISED]

    def test_words_that_say_more_than_the_code(self) -> None:
        """An ingredient that only the words name is kept, and said to be so."""
        order = _order(medicationCodeableConcept=coded("C09AA05", ATC, "Ramipril with felodipine"))
        assert order.medicine.also_named == ("felodipine",)
        assert set(order.medicine.ingredients) == {"ramipril", "felodipine"}


class TestStatement:
    def test_what_is_taken(self) -> None:
        """A statement is read with its period and said to be one."""
        taken = take(
            read_statement,
            r4.MedicationStatement,
            {
                "status": "active",
                **_IBUPROFEN,
                "effectivePeriod": {"start": "2026-01-01T00:00:00Z"},
                "dosage": [{"text": "when it hurts", "asNeededBoolean": True}],
            },
        )
        (order,) = taken.data.orders
        assert (order.is_statement, order.as_needed, order.dose_text) == (True, True, "when it hurts")

    def test_not_taken(self) -> None:
        """What is not taken is left out."""
        whole = {"status": "not-taken", **_IBUPROFEN}
        assert take(read_statement, r4.MedicationStatement, whole).data.orders == []


class TestAdministration:
    def test_as_fhir_has_it(self) -> None:
        """R4: dosage is one object with a dose."""
        dose = _dose(
            dosage={"route": {"text": "Oral"}, "dose": {"value": 400, "unit": "mg", "code": "mg"}},
            request={"reference": "https://ward.example/fhir/MedicationRequest/m-1/_history/2"},
        )
        assert (dose.route, dose.dose_text, dose.order) == (Route.ORAL, "400 mg", "MedicationRequest/m-1")

    @pytest.mark.parametrize(
        ("dosage", "text"),
        [
            # Elements of Dosage, which an administration does not have in R4.
            ({"doseAndRate": [{"doseQuantity": {"value": 400, "unit": "mg"}}]}, "400 mg"),
            ({"timing": {"code": {"text": "daily"}}, "text": "400 mg"}, "400 mg"),
            # A list, as an order has it.
            ([{"text": "400 mg"}], "400 mg"),
        ],
        ids=["doseAndRate", "timing", "list"],
    )
    def test_as_systems_write_it(self, dosage: Any, text: str) -> None:
        """What is readable is read, without a complaint that helps nobody."""
        taken = _given(dosage=dosage)
        assert taken.data.administrations[0].dose_text == text
        assert taken.keys == []

    @pytest.mark.parametrize("dosage", ["400 mg", {"dose": "400 mg"}, {"route": "oral"}, [[]]], ids=str)
    def test_dosage_that_cannot_be_read(self, dosage: Any) -> None:
        """The dose counts as given; what is wrong with its dosage is said."""
        taken = _given(dosage=dosage)
        assert len(taken.data.administrations) == 1
        assert taken.keys == [IssueKey.WRONG_TYPE]

    def test_bad_dosage_takes_nothing_with_it(self) -> None:
        """A second resource is read although the first is malformed."""
        good = {"status": "completed", "effectiveDateTime": NOON, **_IBUPROFEN}
        taken = take(read_administration, r4.MedicationAdministration, {**good, "dosage": 7}, good)
        assert len(taken.data.administrations) == 2

    @pytest.mark.parametrize("status", ["not-done", "entered-in-error", "unknown"])
    def test_not_given(self, status: str) -> None:
        """A dose that was not given is no exposure."""
        assert _given(status=status).data.administrations == []

    def test_running_infusion(self) -> None:
        """An infusion that began and did not end is still running."""
        running = _dose(
            status="in-progress", effectiveDateTime=None, effectivePeriod={"start": "2026-03-08T12:00:00Z"}
        )
        assert running.running
        assert not _dose().running

    def test_without_a_time(self) -> None:
        """A dose without a time cannot be counted, and that is said."""
        assert _given(effectiveDateTime=None).keys == [IssueKey.NO_TIME]


class TestWhichMedicine:
    """Coded in place, contained, or in a resource of its own; what cannot be found is said."""

    @staticmethod
    def _medication(**rest: Any) -> dict[str, Any]:
        return {"resourceType": "Medication", "id": "m", **rest}

    def _referring(self, reference: dict[str, Any], **rest: Any) -> Taken:
        request = {"status": "active", "intent": "order", "medicationReference": reference, **rest}
        return take(read_request, r4.MedicationRequest, request)

    def test_contained(self) -> None:
        """A contained Medication, with another resource beside it that cannot be read."""
        broken = {"resourceType": "Medication", "id": 7}
        whole = self._medication(code=coded("C09AA05", ATC, "Ramipril 5 mg"))
        taken = self._referring({"reference": "#m"}, contained=[broken, whole])
        assert taken.data.orders[0].medicine.ingredients == ("ramipril",)
        assert taken.keys == []

    def test_ingredients_of_a_product(self) -> None:
        """A product without a known code is what its ingredients are."""
        parts = [
            {"itemCodeableConcept": coded("C09AA05", ATC)},
            {"itemCodeableConcept": coded("C03CA01", ATC)},
        ]
        taken = self._referring({"reference": "#m"}, contained=[self._medication(ingredient=parts)])
        assert set(taken.data.orders[0].medicine.ingredients) == {"ramipril", "furosemide"}

    @pytest.mark.parametrize("reference", ["Medication/elsewhere", "#elsewhere"])
    def test_not_sent(self, reference: str) -> None:
        """A Medication that was not sent is recognised by its display alone, and that is said."""
        taken = self._referring({"reference": reference, "display": "Ramipril 5 mg capsules"})
        assert taken.data.orders[0].medicine.method is MatchMethod.NAME
        assert taken.keys == [IssueKey.REFERENCE_NOT_FOUND]

    def test_not_named_at_all(self) -> None:
        """A medicine without a name stays on the chart as such, and that is said."""
        taken = _ordered(medicationCodeableConcept={})
        assert [order.medicine.is_unnamed for order in taken.data.orders] == [True]
        assert taken.keys == [IssueKey.MISSING_ELEMENT]

    def test_neither_sent_nor_shown(self) -> None:
        """The issue names the element that was sent, and what to do."""
        taken = self._referring({"reference": "Medication/elsewhere"})
        (issue,) = taken.issues
        assert issue.path.endswith(".medicationReference")
        assert issue.text == (
            "The Medication is not in the request and the order has no display; send it with _include or "
            "contained."
        )

    def test_a_code_alone_is_named_by_its_ingredient(self) -> None:
        """A recognised code without words has a name to print."""
        order = _order(medicationCodeableConcept={"coding": [{"system": ATC, "code": "M01AE01"}]})
        assert order.medicine.text == "Ibuprofen"

    def test_modifier(self) -> None:
        """A modifier extension may turn the meaning round."""
        extension = [{"url": "urn:example:not", "valueBoolean": True}]
        for taken in (
            _ordered(modifierExtension=extension),
            _given(modifierExtension=extension),
            take(
                read_statement,
                r4.MedicationStatement,
                {"status": "active", **_IBUPROFEN, "modifierExtension": extension},
            ),
        ):
            assert taken.keys == [IssueKey.MODIFIER]

    def test_validity_of_the_supply(self) -> None:
        """Where the dosage has no bounds, the supply's validity is the time in force."""
        order = _order(dispenseRequest={"validityPeriod": {"start": "2026-03-01", "end": "2026-03-05"}})
        assert order.ends == datetime(2026, 3, 5, 23, 59, 59, tzinfo=UTC)

    def test_status_of_another_resource(self) -> None:
        """A status that this resource does not have is an error."""
        assert _ordered(status="in-progress").keys == [IssueKey.WRONG_TYPE]
