"""Every door tells the same in one order, the worst first: common practice; among equals it is ours."""

from tests.medicines.wards import injury, order, reviewed
from tests.records import Json, allergy, earlier, full_set, measured, observation, quantity
from weatherglass.batch.ward.ward_row import chart_lines
from weatherglass.cli.printing.text import review_text
from weatherglass.fhir.writing.frame.detail import Detail
from weatherglass.handover.told import told, under_letters
from weatherglass.model.findings import Kind, Urgency
from weatherglass.model.plain import replace
from weatherglass.model.review import Review
from weatherglass.model.signals import Letter
from weatherglass.model.words.brief_words import rank_on_ward
from weatherglass.stamp import stamp

_PENICILLIN = allergy("Penicillin", reaction=[{"manifestation": [{"text": "anaphylaxis"}]}])


def _review(*resources: Json) -> Review:
    (one,) = reviewed(*resources).reviews
    return one


def _potassium(value: str, before: str) -> Json:
    return measured(f"k{value}", "potassium", value, "mmol/L", effectiveDateTime=earlier(before))


def _overall(one: Review) -> list[str]:
    by_letter = dict(under_letters(one, told(one)))
    return [each.finding.key for each in by_letter[Letter.OVERALL]]


class TestFindings:
    """Under a letter the score that leads stands behind only what is more urgent."""

    def test_what_is_worse_comes_before_the_score(self) -> None:
        """The page showed a routine NEWS2 before what the call is about."""
        no_count = observation("n", "751-8", valueQuantity=quantity("0.2", "10*9/L"))
        one = _review(*full_set(temperature="38.6 Cel"), no_count)
        assert one.lead is not None
        assert one.lead.urgency is Urgency.ROUTINE
        assert _overall(one).index("neutropenic-sepsis") < _overall(one).index("news2")

    def test_of_equals_the_score_comes_first(self) -> None:
        one = _review(*full_set(), order("Bisoprolol 5 mg", "C07AB07"))
        assert {f.urgency for f in one.findings if f.letter is Letter.OVERALL} == {Urgency.ROUTINE}
        assert _overall(one)[0] == "news2"
        assert "comorbidities" in _overall(one)

    def test_a_value_is_not_said_again_above_the_results(self) -> None:
        """Also "Potassium 6.3 mmol/L" stood below its own finding and above the results."""
        one = _review(*(_potassium(*each) for each in (("4.4", "30 h"), ("6.3", "1 h"))))
        (trend,) = (each for each in told(one) if each.finding.kind is Kind.LABORATORY_TREND)
        assert trend.in_results
        assert "Also: Potassium 6.3" not in review_text(one, ())


def test_what_is_done_until_somebody_comes_stands_in_fhir() -> None:
    """Text, page and call had it; whoever keeps the results as FHIR had not. Ours."""
    answer = reviewed(*full_set(respiration_rate="30 /min", spo2="84 %"))
    (one,) = answer.reviews
    assert one.until_then.startswith("Until then: Oxygen")
    assert f'"text":"{one.until_then}"' in answer.collection(stamp(), detail=Detail.BRIEF).decode()


class TestWard:
    def test_no_signs_of_life_come_before_every_deadline_that_has_passed(self) -> None:
        """A cardiac arrest stood eleventh, behind calls that were overdue for hours. Ours."""
        stopped = full_set(respiration_rate="0 /min", pulse="0 /min", consciousness="unresponsive")
        late = [{**one, "effectiveDateTime": earlier("9 h")} for one in full_set(respiration_rate="30 /min")]
        arrest, overdue = _review(*stopped), _review(*late, measured("t", "temperature", "36.8", "Cel"))
        assert arrest.escalation is not None
        assert overdue.escalation is not None
        assert arrest.escalation.due > overdue.escalation.due
        sick = replace(overdue, urgency=Urgency.EMERGENCY)
        assert sorted((sick, arrest), key=rank_on_ward) == [arrest, sick]


class TestChart:
    """A recorded allergy, then what is more urgent, pairs before single lines."""

    def test_the_list_begins_as_text_and_page_do(self) -> None:
        """What was new stood before the penicillin that must not be given."""
        lines = (order("Amoxicillin 500 mg"), order("Ibuprofen 400 mg"), order("Furosemide 40 mg"))
        one = _review(*injury(1), _PENICILLIN, *lines)
        first, *others = chart_lines(one.findings)
        assert first.startswith("Consider holding Amoxicillin 500 mg: recorded allergy")
        text = review_text(one, ())
        assert 0 < text.index("Recorded allergy:") < text.index("next dose of Ibuprofen")
        assert [line.split(":")[0] for line in others] == [
            "New. Consider holding Ibuprofen 400 mg",
            "New. Consider reviewing Furosemide 40 mg",
        ]

    def test_a_line_of_the_list_names_what_has_to_be_known(self) -> None:
        one = _review(*injury(1), order("Ibuprofen 400 mg", dosageInstruction=[{"asNeededBoolean": True}]))
        assert "Ibuprofen 400 mg (when needed)" in chart_lines(one.findings)[0]
