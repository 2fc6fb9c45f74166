"""What was looked at and what was not: the same words at every door. Ours; nobody publishes it."""

from typing import Any

from tests.medicines.wards import injury, nameless, order, reviewed
from tests.records import patient, reading_of, taken
from weatherglass.cds_hooks.services import SERVICES
from weatherglass.cli.printing.text import review_text
from weatherglass.facts.medicines.drug_chart import DrugChart
from weatherglass.knowledge.medicines.pairs import PAIRS
from weatherglass.knowledge.medicines.rules.combinations import COMBINATIONS
from weatherglass.medicines.telling.coverage import NOT_CHECKED, NOT_CHECKED_IN_SHORT, counted
from weatherglass.web.medicine_view import medicine_views, silent_words

CHART = (
    order("Ibuprofen 400 mg"),
    order("Paracetamol 1 g"),
    order("Methotrexate 10 mg"),
    order("Zorptide 5 mg"),
    nameless("m1"),
)


def test_the_count_says_what_it_is() -> None:
    """Recognised is not checked: a rule spoke of fewer, and some nobody knows."""
    (review,) = reviewed(*injury(1), *CHART).reviews
    assert counted(review) == "3 recognised; rules apply to 2; 2 not recognised"


def test_what_nobody_recognised_is_not_counted_among_what_was() -> None:
    """A pair may name a medicine by its words alone: no more are spoken of than were recognised."""
    (review,) = reviewed(order("Warfarin 3 mg"), {**order("Dong quai herb tea"), "id": "s"}).reviews
    assert counted(review) == "1 recognised; rules apply to 1; 1 not recognised"


def test_a_chart_that_nobody_speaks_of() -> None:
    """It says so in its head."""
    (review,) = reviewed(order("Paracetamol 1 g")).reviews
    text = " ".join(review_text(review, ()).split())
    assert f"1 recognised; rules apply to 0. {NOT_CHECKED_IN_SHORT}" in text


def test_the_number_of_combinations_is_counted() -> None:
    """The sentence cannot go out of date."""
    assert f"beyond {len(PAIRS)} named pairs and {len(COMBINATIONS)} combinations" in NOT_CHECKED
    assert "harm in pregnancy or breast-feeding beyond what a rule speaks of" in NOT_CHECKED
    assert "harm to a child" in NOT_CHECKED


def test_both_services_say_it() -> None:
    """The description that a client shows."""
    assert all(NOT_CHECKED in service.description for service in SERVICES.values())


class TestALineWithoutASuggestionOfItsOwn:
    """It is told with the other lines in mind: never as unknown to the rules beside one of the same medicine.

    Our choice; nobody publishes how a chart is told.
    """

    @staticmethod
    def _words(*resources: dict[str, Any]) -> str:
        reading = reading_of(patient(), *resources)
        (review,) = reviewed(*resources).reviews
        views = medicine_views(review.findings, reading.records[0][1], {}, review.clock, DrugChart((), ()))
        return " ".join(silent_words(views))

    def test_a_home_medicine_beside_its_order(self) -> None:
        """The order is what is given; the dose at home is said, which may be another one."""
        home = taken("Ibuprofen 200 mg tablets", id="home", dosage=[{"text": "200 mg twice a day"}])
        said = self._words(*injury(2), order("Ibuprofen 400 mg tablets", "M01AE01"), home)
        assert said == (
            "Reported as taken; the order above is what was looked at: Ibuprofen, 200 mg twice a day."
        )

    def test_a_medicine_of_a_pair_alone(self) -> None:
        """A rule speaks of it, with another one, in another place."""
        said = self._words(order("Apixaban 5 mg"), order("Aspirin 75 mg"), order("Paracetamol 1 g"))
        assert "No rule in use speaks about Paracetamol. That is no approval." in said
        assert "Under Findings, with another medicine: Apixaban; Aspirin." in said

    def test_no_rule(self) -> None:
        """Silence is not approval."""
        said = self._words(order("Paracetamol 1 g"))
        assert said == "No rule in use speaks about Paracetamol. That is no approval."
