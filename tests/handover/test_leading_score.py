"""One score speaks for the patient at every door, and an old round never reads as now.

How the newest and the last complete round are told apart in words is ours; that a score is defined on a
complete set of observations: Royal College of Physicians, NEWS2, 2017.
"""

import pytest

from tests.records import Json, answer_of, full_set, measured, on_oxygen, patient, round_before
from weatherglass.batch.ward.ward_row import ward_row
from weatherglass.cli.commands.demo import ward_list
from weatherglass.model.record.record import Record
from weatherglass.model.review import Review
from weatherglass.model.words.brief_words import in_a_column
from weatherglass.web.ward_line import ward_view

_VERY_ILL = {
    "respiration_rate": "26 /min",
    "spo2": "90 %",
    "systolic_pressure": "95 mm[Hg]",
    "oxygen": "oxygen",
    "temperature": "38.5 Cel",
}


def _review(*resources: Json, born: str = "1950-06-01") -> Review:
    (one,) = answer_of(patient(born), *resources).reviews
    return one


def _incomplete_now() -> list[Json]:
    return [
        measured("r", "respiration-rate", "16", "/min"),
        measured("s", "systolic-pressure", "120", "mm[Hg]"),
        measured("p", "pulse", "80", "/min"),
    ]


class TestAnOldRound:
    def test_the_headline_dates_it_and_says_what_is_known_now(self) -> None:
        one = _review(*round_before("4 h", **_VERY_ILL), *_incomplete_now())
        assert one.headline.startswith("NEWS2 11 at 06:00 on 1 March (last complete set): ")
        assert " Since then only breathing 16, systolic 120, pulse 80." in one.headline

    def test_every_list_shows_both(self) -> None:
        one = _review(*round_before("4 h", **_VERY_ILL), *_incomplete_now())
        assert in_a_column(one) == ward_row(one).score == "NEWS2 at least 0 (11 at 06:00 on 1 March)"
        assert ">=0 (11)" in ward_list([one])

    def test_the_order_of_a_list_reckons_with_it(self) -> None:
        """Of two as urgent the one who had 11 stands before the one who has 9."""
        eleven = _review(*round_before("4 h", **_VERY_ILL), *_incomplete_now())
        nine = _review(*full_set(respiration_rate="26 /min", spo2="91 %", pulse="135 /min"))
        lines = ward_list([nine, eleven]).splitlines()[3:]
        assert "(11)" in lines[0], lines


def test_a_child_is_ranked_by_the_score_for_children() -> None:
    """Bedside PEWS 2009; the list of the command line had room for NEWS2 only."""
    child = _review(
        measured("r", "respiration-rate", "70", "/min"),
        measured("p", "pulse", "175", "/min"),
        measured("s", "spo2", "90", "%"),
        on_oxygen(),
        born="2021-03-01",
    )
    assert child.lead is not None
    assert child.lead.key == "bedside-pews"
    assert f"PEWS >={child.lead.lowest}" in ward_list([child])
    assert ward_row(child).score.startswith(child.lead.name)


@pytest.mark.parametrize("born", ["1950-06-01", "2021-03-01"])
def test_the_page_leads_with_the_same_score(born: str) -> None:
    one = _review(*full_set(), born=born)
    (row,) = ward_view([(0, one, Record(subject=one.subject))]).rows
    assert one.lead is not None
    assert row.score == (str(one.lead.total) if one.lead.total is not None else f"≥{one.lead.lowest}")
