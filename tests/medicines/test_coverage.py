"""What was looked at and what was not: the same words at every door. Ours; nobody publishes it."""

from tests.medicines.test_unnamed_orders import nameless
from tests.medicines.wards import injury, order, reviewed
from weatherglass.cds_hooks.services import SERVICES
from weatherglass.cli.printing.text import review_text
from weatherglass.knowledge.medicines.pairs import PAIRS
from weatherglass.knowledge.medicines.rules.combinations import COMBINATIONS
from weatherglass.medicines.telling.coverage import NOT_CHECKED, counted

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
    assert counted(review) == "3 recognised; a rule spoke of 2; 2 not recognised"


def test_a_chart_that_nobody_speaks_of() -> None:
    """It says so in its head."""
    (review,) = reviewed(order("Paracetamol 1 g")).reviews
    text = " ".join(review_text(review, ()).split())
    assert "1 recognised; a rule spoke of 0; 0 not recognised" in text
    assert NOT_CHECKED in text


def test_the_number_of_combinations_is_counted() -> None:
    """The sentence cannot go out of date."""
    assert f"beyond {len(PAIRS)} named pairs and {len(COMBINATIONS)} combinations" in NOT_CHECKED
    assert "harm in pregnancy beyond what a rule speaks of" in NOT_CHECKED
    assert "harm in breast-feeding or to a child" in NOT_CHECKED


def test_both_services_say_it() -> None:
    """The description that a client shows."""
    assert all(NOT_CHECKED in service.description for service in SERVICES.values())
