"""What is dangerous together and ended by a suggested hold is named behind the hold (our choice)."""

from tests.medicines.wards import injury, interactions, order, problem, result, reviewed
from tests.records import Json
from weatherglass.batch.ward.ward_row import chart_lines
from weatherglass.cli.printing.text import review_text
from weatherglass.knowledge.medicines.pairs import PAIRS
from weatherglass.model.findings import Urgency

_SPIRONOLACTONE = order("Spironolactone 25 mg", "C03DA01")
_TRIMETHOPRIM = order("Trimethoprim 200 mg", "J01EA01")
_BOTH = (_SPIRONOLACTONE, _TRIMETHOPRIM)
_HIGH = (result("K", "6.2"), *injury(2))
_KEY = "trimethoprim-with-potassium-keeper"
_SAYS, _HARM = next((one.says, one.harm) for one in PAIRS if one.key == _KEY)


def _said(*resources: Json) -> str:
    (review,) = reviewed(*resources).reviews
    return " ".join(review_text(review, ()).split())


def test_a_pair_of_what_is_held_stands_behind_the_holds_in_few_words() -> None:
    """Both are held at a potassium of 6.2: that another antibacterial is wanted says the hold."""
    said = _said(*_HIGH, *_BOTH)
    hold, pair = (said.rindex(words) for words in ("Consider holding the next dose", _HARM))
    assert hold < pair
    assert _SAYS not in said


def test_a_pair_that_no_hold_ends_is_said_in_full() -> None:
    """Without a result nothing is held."""
    assert _SAYS in _said(*_BOTH)
    assert not interactions(reviewed(*_BOTH))[_KEY].settled


def test_a_hold_of_one_ends_a_pair_of_two_and_it_is_as_urgent_as_ever() -> None:
    """What settles it is a suggestion, and nobody has followed it yet."""
    chart = (order("Morphine 10 mg", "N02AA01"), order("Zopiclone 7.5 mg", "N05CF01"))
    pair = interactions(reviewed(result("RR", "8"), *chart))["opioid-sedative-drowsy"]
    assert (pair.settled, pair.urgency) == (True, Urgency.URGENT)


def test_a_hold_of_one_side_ends_a_pair_with_several_on_the_other() -> None:
    """Warfarin that waits for an INR of 9 has no use for "an INR within three days"."""
    chart = ("Warfarin 3 mg", "Clarithromycin 500 mg", "Fluconazole 200 mg")
    lines = [{**order(text), "id": f"o{at}"} for at, text in enumerate(chart)]
    found = interactions(reviewed(result("INR", "9.2"), *lines))["warfarin-with-antimicrobial"]
    assert found.settled
    assert not interactions(reviewed(result("INR", "2.4"), *lines))["warfarin-with-antimicrobial"].settled


def test_a_hold_that_presses_less_settles_nothing() -> None:
    """A first stage of kidney injury asks about methotrexate today, the pair now."""
    chart = (order("Methotrexate 10 mg weekly", "L04AX03"), order("Trimethoprim 200 mg", "J01EA01"))
    pair = interactions(reviewed(*injury(1), *chart))["methotrexate-with-trimethoprim"]
    assert not pair.settled


def test_two_antiplatelets_on_hold_settle_no_stent() -> None:
    """Never leave out both: the danger is in the hold itself."""
    bleeding, stent = problem("Melaena", since="2026-02-28"), problem("Coronary stent")
    both = (order("Clopidogrel 75 mg", "B01AC04"), order("Aspirin 75 mg", "B01AC06"))
    found = interactions(reviewed(bleeding, stent, *both))
    assert not found["antiplatelet-stent-bleeding"].settled


def test_the_ward_list_names_it_behind_them_in_few_words() -> None:
    """A list that is printed for the night has room for what to do, and for few words of why."""
    (review,) = reviewed(*_HIGH, *_BOTH).reviews
    *before, last = chart_lines(review.findings)
    assert _HARM in last
    assert _SAYS not in last
    assert any("Consider holding" in line and "Trimethoprim" in line for line in before)
