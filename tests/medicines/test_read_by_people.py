"""What a tired reader sees of the drug chart: the same words at every door."""

import dataclasses
import json
import re
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from tests.medicines.read_aloud import WARD, demo, in_text, on_the_page
from tests.medicines.wards import injury, interactions, order, result, reviewed, suggestions
from tests.records import alertness, patient, reading_of
from weatherglass.cds_hooks.cards import Frame, card_of
from weatherglass.facts.medicines.drug_chart import DrugChart
from weatherglass.fhir.writing.bundle import context_of
from weatherglass.fhir.writing.frame.terms import Terms
from weatherglass.knowledge.medicines.rules.actions import ACTIONS, Action
from weatherglass.model.plain import replace
from weatherglass.model.words.clock_words import Clock
from weatherglass.pipeline import Answer, review
from weatherglass.stamp import stamp
from weatherglass.web.medicine_view import asked, medicine_views

MORPHINE = order("Morphine sulfate 10 mg tablets", "N02AA01")
INSULIN = order("Insulin glargine 100 units/mL", "A10AE04")


def in_fhir(answer: Answer) -> str:
    """Return everything that the FHIR answer says in words, of the chart."""
    resources = [entry["resource"] for entry in json.loads(answer.collection(stamp()))["entry"]]
    return json.dumps(
        [one for one in resources if one["resourceType"] in ("DetectedIssue", "Task")], ensure_ascii=False
    )


def on_cards(answer: Answer) -> str:
    """Return the details that cards would show of the chart."""
    context = context_of(answer.reviews[0], "urn:uuid:x", Terms())
    frame = Frame(context=context, instance="one", base_url="http://127.0.0.1:8080")
    return " ".join(str(card_of(frame, one)["detail"]) for one in suggestions(answer).values())


class TestRiskIfStopped:
    """A hold under the label "do not stop" contradicts itself; the risk of omission does not."""

    @pytest.mark.parametrize("door", [in_text, in_fhir, on_cards])
    def test_label_at_every_door(self, door: Any) -> None:
        """A held opioid names its risk under that label."""
        said = door(reviewed(result("RR", "8"), alertness("pain"), MORPHINE))
        assert "Risk if stopped: A long-term user suffers withdrawal" in said
        assert not re.search(r"(?i)\bdo not stop\b", said)

    def test_label_on_the_page(self) -> None:
        """The page says it in the same words."""
        said = on_the_page("07-drowsy-opioids")
        assert said.count("Risk if stopped ") == 3, "not of the opioid that is given when needed"
        assert "Do not stop" not in said


class TestNoLabelIsAnOrder:
    """What heads a line of the page is put to a prescriber, as the sentence is."""

    @pytest.mark.parametrize("action", [one for one in Action if one is not Action.NOT_REVIEWED])
    def test_label(self, action: Action) -> None:
        """Every label asks to consider, to look or to watch; what could not be reviewed asks for nothing."""
        assert re.match(r"(Consider|Look again|Watch)\b", ACTIONS[action].label)

    @pytest.mark.parametrize("name", ["01-sepsis", "05-bleeding-anticoagulant"])
    def test_what_goes_on(self, name: str) -> None:
        """Co-amoxiclav in sepsis, aspirin in suspected bleeding: the prescriber decides."""
        said = on_the_page(name)
        assert "Consider continuing" in said
        assert "Keep giving" not in said


class TestRestartOnlyOfWhatMayBeHeld:
    """Ours: a way back is a plan for a hold, and stands nowhere else."""

    def test_insulin_is_never_held(self) -> None:
        """The next due insulin is reviewed and given: there is nothing to restart."""
        (found,) = suggestions(reviewed(result("glucose", "2.9"), INSULIN)).values()
        assert found.action == "review"
        assert found.restart is None
        assert "dose is reviewed" in found.do_not_stop

    def test_rule_that_holds_nothing(self) -> None:
        """Enoxaparin in kidney injury is looked at for its dose."""
        (found,) = suggestions(reviewed(*injury(1), order("Enoxaparin 40 mg", "B01AB05"))).values()
        assert (found.action, found.restart) == ("review", None)

    def test_steroid_with_an_nsaid_is_never_held(self) -> None:
        """What one part of a product forbids, no plan of another part brings back."""
        (found,) = suggestions(reviewed(*injury(2), order("Tablets from abroad", "M01BA01"))).values()
        assert (found.action, found.restart) == ("review", None)

    def test_review_that_may_end_in_a_hold(self) -> None:
        """A loop diuretic is held in the dry: its review says how it comes back if it is."""
        (found,) = suggestions(reviewed(*injury(1), order("Furosemide 40 mg", "C03CA01"))).values()
        assert found.action == "review"
        assert found.restart is not None
        assert found.restart.condition == "if it is held: volume restored (or overload returning)"

    def test_hold(self) -> None:
        """A hold has its plan without an if."""
        (found,) = suggestions(reviewed(*injury(1), order("Ibuprofen 400 mg", "M01AE01"))).values()
        assert found.restart is not None
        assert found.restart.condition.startswith("kidney function")

    @pytest.mark.parametrize(
        ("drug", "said"),
        [
            pytest.param(
                "Spironolactone",
                "potassium below 5.0 mmol/L, the cause of the high potassium dealt with, creatinine "
                "settling, blood pressure back at its usual level, volume restored and eating and drinking "
                "normally; chronic benefit is lost if it stays off; check the indication again",
                id="potassium-and-indication-once",
            ),
            pytest.param(
                "Metformin",
                "eGFR stable and at least 30, eating and drinking normally, lactate normal, its cause dealt "
                "with and the acute illness settled",
                id="stricter-condition-stands-for-the-milder",
            ),
        ],
    )
    def test_each_condition_once(self, drug: str, said: str) -> None:
        """Three rules in one line of the demo ward ask for each thing once."""
        (found,) = [f for f in suggestions(demo("04-aki-nephrotoxics")).values() if drug in f.medicine]
        assert found.restart is not None
        assert found.restart.condition == said


class TestPlainWords:
    """What a reader has to read twice at four in the morning is written badly."""

    @pytest.mark.parametrize("path", sorted(WARD.glob("*.json")), ids=lambda path: str(path.stem))
    def test_of_the_page(self, path: Path) -> None:
        """Nothing is looked at again and again, and nothing recognised by not being recognised."""
        said = on_the_page(path.stem)
        assert "Look again, look again" not in said
        assert "Recognised by not recognised" not in said
        assert "Would become" not in said

    def test_deadline_of_a_review(self) -> None:
        """What is looked at again has its time behind it; another action says what the time is for."""
        said = on_the_page("04-aki-nephrotoxics")
        assert re.search(r"Consider holding ; look again by \d\d:\d\d", said)
        assert re.search(r"look again by \d\d:\d\d", on_the_page("01-sepsis"))

    @pytest.mark.parametrize("door", [in_text, in_fhir, on_cards])
    def test_unknown_medicine(self, door: Any) -> None:
        """What nobody recognised was recognised by nothing."""
        assert "Recognised by" not in door(reviewed(order("Unknown X")))


class TestConditionOnThePage:
    """What a suggestion waits for, and what it asks besides, are not lost between the text and the page.

    The demo patients are ours; what makes a potassium spurious: UK Kidney Association 2023, from memory.
    """

    def test_doubt_comes_before_the_action(self) -> None:
        """The sample of 6.4 is haemolysed: repeated first, and the action only after that."""
        said = on_the_page("09-incomplete-after-operation")
        line = said.partition("Enoxaparin 40 mg/0.4 mL injection")[2].partition("Why")[0]
        assert re.search(
            r"Possibly spurious: potassium 6\.4 mmol/L \(the sample is haemolysed\); repeat it urgently\. "
            r".*If it is confirmed: look again .*by 10:00",
            line,
        )
        assert "Look again" not in said

    def test_every_doubt_of_the_text_is_on_the_page(self) -> None:
        """As often as the text says it, and only there."""
        doubts = 0
        for path in sorted(WARD.glob("*.json")):
            printed = in_text(demo(path.stem)).count("If it is confirmed: ")
            assert on_the_page(path.stem).count("If it is confirmed: ") == printed, path.stem
            doubts += printed
        assert doubts

    @pytest.mark.parametrize(
        ("name", "said", "lines"),
        [
            # Of three medicines that are one decision it is said once.
            ("07-drowsy-opioids", "Also: a lower or less frequent dose may be needed.", 1),
        ],
    )
    def test_what_is_suggested_besides(self, name: str, said: str, lines: int) -> None:
        """As often as the text has it, and before the reasons."""
        assert in_text(demo(name)).count(said) == lines
        page = on_the_page(name)
        assert page.count(said) == lines
        assert page.index(said) < page.index("Why")

    def test_head_of_the_page(self) -> None:
        """A line in doubt is named with its condition, and not counted with one that is sure."""
        one = order("Spironolactone 25 mg tablets", "C03DA01")
        lines = (result("K", "6.6", note=[{"text": "Sample haemolysed"}]), one)
        views = medicine_views(
            reviewed(*lines).reviews[0].findings,
            reading_of(patient(), *lines).records[0][1],
            {},
            Clock(UTC, datetime(2026, 3, 1, tzinfo=UTC)),
            DrugChart((), ()),
        )
        assert asked(views) == (
            "consider holding Spironolactone (once the potassium is repeated and confirmed)",
        )
        assert views[0].finding is not None
        sure = dataclasses.replace(views[0], finding=replace(views[0].finding, doubt="", once=""))
        assert len(asked((*views, sure))) == 2

    def test_not_signed_yet(self) -> None:
        """An order that nobody has signed cannot be held: it is not started."""
        draft = order("Spironolactone 25 mg tablets", "C03DA01", status="draft")
        haemolysed = result("K", "6.6", note=[{"text": "Sample haemolysed"}])
        (found,) = suggestions(reviewed(haemolysed, draft)).values()
        assert found.if_confirmed == "avoid"
        assert "If it is confirmed: consider not starting Spironolactone" in found.sentence


class TestDeadlineOfAnOpioid:
    """Breathing 8 a minute: looked at again within the hour, at every door."""

    def test_text_and_page(self) -> None:
        """The review of 07:10 asks for a look by 08:10, or by a dose that is due at 08:05: two decisions."""
        for said in (in_text(demo("07-drowsy-opioids")), on_the_page("07-drowsy-opioids")):
            assert re.findall(r"look again by (08:\d\d)", said.casefold()) == ["08:05", "08:10"]

    def test_cards(self) -> None:
        """A card says it too, in its short way of writing a time."""
        assert len(re.findall("Look again by 08:(?:05|10)", on_cards(demo("07-drowsy-opioids")))) == 4

    def test_task(self) -> None:
        """The Task's period ends then."""
        entries = json.loads(demo("07-drowsy-opioids").collection(stamp()))["entry"]
        tasks = [e["resource"] for e in entries if e["resource"]["resourceType"] == "Task"]
        ends = {task["restriction"]["period"]["end"][:16] for task in tasks}
        assert ends == {"2026-03-12T08:05", "2026-03-12T08:10"}


class TestSeveralLinesOfOneMedicine:
    """One medicine is one thing to think about, however many lines it has."""

    LINES = tuple(order("Ramipril 5 mg capsules", "C09AA05", id=f"r{n}") for n in range(3))
    OTHERS = (
        order("Ibuprofen 400 mg tablets", "M01AE01", id="i1"),
        order("Ibuprofen 100 mg/5 mL suspension", "M01AE01", id="i2"),
        order("Furosemide 40 mg tablets", "C03CA01"),
    )

    def test_combination(self) -> None:
        """Each is named once in a combination, with its lines counted; no order is lost."""
        found = interactions(reviewed(*injury(2), *self.LINES, *self.OTHERS))["aki-nsaid-raas-diuretic"]
        assert found.sentence.startswith(
            "Furosemide 40 mg tablets + Ibuprofen (2 lines) + Ramipril 5 mg capsules (3 lines): acute"
        )
        assert len(found.orders) == len(found.medicines) == 6

    def test_head_of_the_page(self) -> None:
        """One entry a medicine and suggestion; a draft of the same is another suggestion."""
        draft = order("Ramipril 2.5 mg capsules", "C09AA05", id="d", status="draft")
        answer = reviewed(*injury(2), result("SBP", "96"), *self.LINES, *self.OTHERS, draft)
        reading = reading_of(patient(), *injury(2), *self.LINES, *self.OTHERS, draft)
        views = medicine_views(
            answer.reviews[0].findings,
            reading.records[0][1],
            {},
            Clock(UTC, datetime(2026, 3, 1, tzinfo=UTC)),
            DrugChart((), ()),
        )
        said = asked(views)
        assert said == (
            "consider holding Ibuprofen (2 lines) and Ramipril 5 mg capsules (3 lines)",
            "consider avoiding Ramipril 2.5 mg capsules",
            "consider reviewing Furosemide",
        )


@pytest.mark.parametrize(
    ("stem", "why", "mark"),
    [
        (
            "01-sepsis",
            "In the first 48 hours of an infection full doses are kept",
            "Crass RL et al., secondary",
        ),
        (
            "05-bleeding-anticoagulant",
            "For known arterial disease aspirin goes on",
            "Abraham NS et al., confirmed",
        ),
        ("10-ceiling-of-treatment", "The first dose is time-critical", "NPSA/2010/RRR009, confirmed"),
    ],
)
def test_a_reason_that_the_sentence_gives_is_not_given_again(stem: str, why: str, mark: str) -> None:
    """Once is enough for the reason; who says so stays."""
    said = in_text(review((WARD / f"{stem}.json").read_bytes()))
    chart = said.partition("Drug chart: suggestions")[2].partition(" Handover Situation")[0]
    assert chart.count(why) == 1
    assert mark in chart.partition(why)[2]


def test_a_reason_that_the_sentence_does_not_give_stands_behind_it() -> None:
    """A hold names what triggered it; why that matters is said after it."""
    said = in_text(review((WARD / "07-drowsy-opioids.json").read_bytes()))
    assert "Why: It sedates and, with an opioid, can suppress breathing." in said
