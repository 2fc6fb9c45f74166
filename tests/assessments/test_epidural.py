"""A running epidural with slow breathing or sedation; a low pressure is named beside them.

Whom to ask and for what: NHS Highland, epidural analgesia guidelines. By when, and below 90, is our choice;
breathing below 10 is from memory.
"""

import pytest

from tests.medicines.wards import reviewed
from tests.records import Json, alertness, earlier, full_set, ordered, problem, procedure
from weatherglass.model.findings import Finding, Kind, Urgency

_TEXT = "Levobupivacaine 0.1% with fentanyl 2 micrograms/mL"


def _epidural(route: str = "epidural", status: str = "active", named: str = _TEXT) -> Json:
    return ordered(
        named,
        id="m-epidural",
        status=status,
        authoredOn=earlier("20 h"),
        dosageInstruction=[{"route": {"text": route}}],
    )


def _findings(*resources: Json) -> tuple[Finding, ...]:
    (review,) = reviewed(*resources).reviews
    return review.findings


def _found(*resources: Json) -> Finding | None:
    return next((f for f in _findings(*resources) if f.key == "epidural"), None)


@pytest.mark.parametrize(
    ("signs", "says"),
    [
        ({"systolic_pressure": "89 mm[Hg]"}, "systolic 89 mmHg"),
        ({"systolic_pressure": "90 mm[Hg]"}, None),
        (
            {"respiration_rate": "9 /min", "systolic_pressure": "89 mm[Hg]"},
            "respiration rate 9 /min and systolic 89 mmHg",
        ),
        ({"respiration_rate": "9 /min", "systolic_pressure": "90 mm[Hg]"}, "respiration rate 9 /min:"),
        ({"respiration_rate": "9 /min"}, "respiration rate 9 /min"),
        ({"systolic_pressure": "89 mm[Hg]", "pulse": "59 /min"}, "pulse 59 /min and systolic 89 mmHg"),
        ({"systolic_pressure": "89 mm[Hg]", "pulse": "60 /min"}, "systolic 89 mmHg"),
        ({"pulse": "59 /min"}, None),
        ({"respiration_rate": "10 /min"}, None),
        ({}, None),
    ],
)
def test_signs(signs: dict[str, str], says: str | None) -> None:
    """Both ends of each limit; a well patient with an epidural is told nothing."""
    found = _found(*full_set(**signs), _epidural())
    assert (found is not None) is (says is not None)
    if found is not None:
        is_high = says is not None and "systolic" in says and " and " in says
        assert found.urgency is (Urgency.EMERGENCY if is_high else Urgency.URGENT)
        assert f"An epidural is running, with {says}" in found.sentence
        asked = "the anaesthetist now: a block" if is_high else "anaesthetist or acute pain team"
        assert asked in found.sentence


@pytest.mark.parametrize("answer", ["new-confusion", "voice", "pain", "unresponsive"])
def test_sedation(answer: str) -> None:
    found = _found(*(one for one in full_set() if one["id"] != "acvpu"), alertness(answer), _epidural())
    assert found is not None
    assert found.urgency is Urgency.URGENT


@pytest.mark.parametrize(("route", "status"), [("intravenous", "active"), ("epidural", "stopped")])
def test_what_is_no_epidural(route: str, status: str) -> None:
    assert _found(*full_set(respiration_rate="9 /min"), _epidural(route, status)) is None


@pytest.mark.parametrize("named", [_TEXT, f"{_TEXT} epidural infusion"])
def test_a_low_pressure_alone_is_said_once(named: str) -> None:
    """Whatever its name says; never to be looked at in 12 hours."""
    found = _findings(*full_set(systolic_pressure="84 mm[Hg]"), _epidural(named=named))
    rows = [f for f in found if f.kind is Kind.MEDICINE]
    assert (len(rows), sum(f.key == "epidural" for f in found)) == (0, 1)


def _problem(words: str, recorded: str | None = "1 h") -> Json:
    return problem(words, **({"recordedDate": earlier(recorded)} if recorded is not None else {}))


def _spine(*resources: Json) -> Finding | None:
    return next((f for f in _findings(*full_set(), *resources) if f.key == "epidural-weak-legs"), None)


class TestWeakLegs:
    """Blood or pus in the spine: an emergency by our choice; what a growing block means is from memory."""

    @pytest.mark.parametrize(
        "words",
        [
            "Leg weakness",
            "Weakness of both legs",
            "New numbness in the left leg",
            "Dense motor block",
            "Cannot move her legs",
            "Saddle anaesthesia",
        ],
    )
    def test_words(self, words: str) -> None:
        found = _spine(_epidural(), _problem(words))
        assert found is not None
        assert (found.urgency, found.since is not None) == (Urgency.EMERGENCY, True)
        assert "ask the anaesthetist now" in found.sentence
        assert "next dose" not in found.sentence

    @pytest.mark.parametrize(
        "words", ["No leg weakness", "Leg ulcer", "Motor block as expected", "Weakness of the left arm"]
    )
    def test_other_words(self, words: str) -> None:
        assert _spine(_epidural(), _problem(words)) is None

    @pytest.mark.parametrize(("recorded", "is_asked"), [("19 h", True), ("21 h", False), (None, True)])
    def test_legs_that_were_weak_before_it(self, recorded: str | None, is_asked: bool) -> None:
        """Begun 20 hours ago; what nobody dated is asked about."""
        assert (_spine(_epidural(), _problem("Leg weakness", recorded)) is not None) is is_asked

    @pytest.mark.parametrize(("ends", "is_asked"), [("167 h", True), ("169 h", False)])
    def test_until_a_week_after_it(self, ends: str, is_asked: bool) -> None:
        """Our choice: a clot may come when the catheter is drawn."""
        order = _epidural(status="completed")
        order["authoredOn"] = earlier("100 h")
        order["dosageInstruction"][0]["timing"] = {
            "repeat": {"boundsPeriod": {"start": earlier("100 h"), "end": earlier(ends)}}
        }
        assert (_spine(order, _problem("Leg weakness")) is not None) is is_asked

    def test_no_epidural(self) -> None:
        assert _spine(_problem("Leg weakness")) is None

    def test_an_anticoagulant_is_asked_about(self) -> None:
        found = _spine(_epidural(), _problem("Leg weakness"), ordered("Rivaroxaban 10 mg", "B01AF01"))
        assert found is not None
        assert "whether the next dose of rivaroxaban 10 mg waits for it" in found.sentence

    @pytest.mark.parametrize(
        ("done", "weak", "is_asked"),
        [("6 h", "1 h", True), ("4 h", "1 h", False), ("167 h", "1 h", True), ("169 h", "1 h", False)],
    )
    def test_after_a_block_that_has_worn_off(self, done: str, weak: str, is_asked: bool) -> None:
        """AAGBI and OAA 2020, from memory: 4 hours after a block the legs lift again; 3 days are ours."""
        spinal = procedure("Spinal anaesthesia", performedDateTime=earlier(done))
        found = _spine(spinal, _problem("Leg weakness", weak))
        assert (found is not None) is is_asked
        assert found is None or "Leg weakness after spinal anaesthesia" in found.sentence
