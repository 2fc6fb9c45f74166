"""Paracetamol of several orders added up, and of compounds (label 4.2; the urgency is ours)."""

from datetime import datetime

import pytest

from tests.medicines.wards import dosed, interactions, order, problem
from tests.medicines.written_doses import YOUNG, dose_said, weight
from tests.records import Json, answer_of, earlier, given
from weatherglass.model.findings import Urgency

R, P, U = Urgency.ROUTINE, Urgency.PROMPT, Urgency.URGENT


def _other(
    text: str, amount: str, unit: str, often: tuple[int, int, str] = (4, 1, "d"), **rest: object
) -> Json:
    return {**dosed(text, amount, unit, often), "id": "other", **rest}


def _when_needed(made: Json) -> Json:
    (dosage,) = made["dosageInstruction"]
    return {**made, "dosageInstruction": [{**dosage, "asNeededBoolean": True}]}


class TestParacetamolAddedUp:
    """Paracetamol for infusion, label 4.2: 4 g a day, 60 mg/kg up to 50 kg, other products counted."""

    _DAY = dosed("Paracetamol 1 g IV infusion", "1", "g", (3, 1, "d"))

    @pytest.mark.parametrize(
        ("other", "words"),
        [
            (_other("Paracetamol 500 mg tablets", "1000", "mg", (1, 1, "d")), None),
            (
                _other("Paracetamol 500 mg tablets", "1000", "mg", (2, 1, "d")),
                "up to 5000 mg of paracetamol a day in 2 lines",
            ),
            (
                _other("Co-codamol 30/500 tablets", "2", "tablet"),
                "up to 7000 mg of paracetamol a day in 2 lines",
            ),
            (
                _other("Co-codamol 30 mg/500 mg tablets", "2", "tablet"),
                "up to 7000 mg of paracetamol a day in 2 lines",
            ),
            (
                _when_needed(_other("Paracetamol 500 mg tablets", "2", "tablet")),
                "up to 7000 mg of paracetamol a day in 2 lines",
            ),
        ],
    )
    def test_every_line_counts(self, other: Json, words: str | None) -> None:
        finding = dose_said(self._DAY, other)
        assert (finding is not None) is (words is not None)
        if finding is not None:
            assert words is not None
            assert words in finding.sentence
            assert finding.urgency is P

    @pytest.mark.parametrize("is_regular", [True, False])
    def test_what_is_only_given_when_needed_is_no_overdose_yet(self, is_regular: bool) -> None:
        """Ours: 8 g a day written is urgent, but for what may be needed, until it was given."""
        other = _other("Paracetamol 500 mg tablets", "2", "tablet", (4, 1, "d"))
        day = dosed("Paracetamol 1 g IV infusion", "1", "g", (4, 1, "d"))
        finding = dose_said(day, other if is_regular else _when_needed(other))
        assert finding is not None
        assert "up to 8000 mg of paracetamol a day in 2 lines" in finding.sentence
        assert (finding.action, finding.urgency) == (("hold", U) if is_regular else ("reduce", P))

    def test_the_last_order_made_the_sum(self) -> None:
        """A deadline is counted from when its reason began: with the later of two orders."""
        later = {**_other("Paracetamol 500 mg tablets", "1000", "mg"), "authoredOn": earlier("1 h")}
        finding = dose_said(self._DAY, later)
        assert finding is not None
        assert finding.since == datetime.fromisoformat(earlier("1 h"))

    @pytest.mark.parametrize(
        ("tablets", "kilograms", "said"),
        [
            ("2", "41", "4000 mg of paracetamol a day written at 41 kg"),
            ("2", "50", None),
            ("1", "33.4", None),
            ("1", "33.3", "2000 mg of paracetamol a day written at 33.3 kg"),
        ],
    )
    def test_a_compound_alone_counts_by_its_tablets(
        self, tablets: str, kilograms: str, said: str | None
    ) -> None:
        """Label, 4.2: below 50 kg at most 60 mg/kg a day; the milligrams of a compound say nothing."""
        line = dosed("Co-codamol 30/500 tablets", tablets, "tablet", (4, 1, "d"))
        finding = dose_said(line, weight(kilograms))
        assert (finding is not None) is (said is not None)
        assert finding is None or said is None or said in finding.sentence
        assert dose_said(_when_needed(line), weight(kilograms)) is None

    def test_one_line_when_needed_is_silent(self) -> None:
        """What may be needed is not taken: only beside another line is it added."""
        assert dose_said(_when_needed(dosed("Paracetamol", "1", "g", (1, 4, "h")))) is None

    def test_the_pair_is_silent_where_the_sum_is_known(self) -> None:
        answer = answer_of(YOUNG, self._DAY, _other("Paracetamol 500 mg tablets", "500", "mg", (2, 1, "d")))
        assert not interactions(answer)

    def test_what_cannot_be_added_leaves_the_pair_and_is_said_as_the_least(self) -> None:
        unknown = {**order("Co-codamol 8/500 tablets"), "id": "unknown"}
        many = dosed("Paracetamol 1 g", "1", "g", (5, 1, "d"))
        finding = dose_said(many, unknown)
        assert finding is not None
        assert "at least 5000 mg of paracetamol a day in 2 lines" in finding.sentence
        assert not interactions(answer_of(YOUNG, many, unknown))  # One fact, told once.
        assert list(interactions(answer_of(YOUNG, self._DAY, unknown))) == ["paracetamol-twice"]

    @pytest.mark.parametrize(("kilograms", "is_said"), [("49", True), ("50", False)])
    def test_by_weight(self, kilograms: str, is_said: bool) -> None:
        other = _other("Paracetamol 500 mg tablets", "500", "mg", (1, 1, "d"))
        finding = dose_said(weight(kilograms), self._DAY, other)
        assert (finding is not None) is is_said
        if finding is not None:
            assert "3500 mg of paracetamol a day in 2 lines at 49 kg" in finding.sentence

    @pytest.mark.parametrize(
        ("recorded", "is_said"), [("Liver cirrhosis", True), ("Alcohol dependence", True), ("Asthma", False)]
    )
    def test_at_most_3_g_with_a_weak_liver(self, recorded: str, is_said: bool) -> None:
        finding = dose_said(problem(recorded), dosed("Paracetamol", "1", "g", (4, 1, "d")))
        assert (finding is not None) is is_said
        assert dose_said(problem(recorded), dosed("Paracetamol", "1", "g", (3, 1, "d"))) is None


def test_tablets_of_a_compound_count_as_given() -> None:
    """7 g in a day was told as 4 g: the tablets of co-dydramol were left out."""
    lines = [
        {**dosed("Paracetamol 10 mg/mL infusion", "1000", "mg", (4, 1, "d")), "id": "o"},
        {**dosed("Co-dydramol 10 mg/500 mg tablets", "2", "tablet", (4, 1, "d")), "id": "b"},
    ]
    doses = [
        {**given(line["medicationCodeableConcept"]["text"], earlier(f"{hours} h")), "id": f"g{place}{hours}"}
        for place, line in enumerate(lines)
        for hours in (4, 10, 16)
    ]
    finding = dose_said(*lines, *doses)
    assert finding is not None
    assert "6000 mg of paracetamol given in 24 hours" in finding.sentence
