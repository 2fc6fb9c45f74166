"""The first minute of a call: short enough to be said, true, and with blanks for the caller.

The number of words and what is left out first are our choice.
"""

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from tests.medicines.wards import order, problem, result
from tests.records import (
    AT,
    Json,
    answer_of,
    bundle,
    earlier,
    full_set,
    measured,
    observation,
    patient,
    procedure,
    quantity,
    stay,
    text,
)
from weatherglass.handover.aloud.spoken import BLANKS, MOST_WORDS
from weatherglass.model.review import Review
from weatherglass.pipeline import review

BUNDLES = sorted((Path(__file__).parents[2] / "fixtures" / "bundles").glob("*.json"))


def reviewed(file: Path, **changed: str) -> Review:
    """Return the review of a demo patient."""
    body = json.loads(file.read_bytes())
    for entry in body["entry"]:
        if entry["resource"]["resourceType"] == "Patient" and changed:
            entry["resource"]["name"] = [{"text": changed["name"]}]
    return review(json.dumps(body).encode()).reviews[0]


@pytest.mark.parametrize("file", BUNDLES, ids=lambda one: one.stem)
def test_it_takes_a_minute(file: Path) -> None:
    """At most 120 words; who it is, the limits and the blanks stand in each that there is a reason for."""
    one = reviewed(file)
    said = " ".join(one.handover.spoken)
    if one.escalation is None and not one.unassessed and not one.closed:
        assert not said
        return
    assert len(said.split()) <= MOST_WORDS
    assert one.subject.name in said
    assert BLANKS in said
    for decision in one.decisions:
        assert decision.words in said


@pytest.mark.parametrize("file", BUNDLES, ids=lambda one: one.stem)
def test_the_call_stands_second(file: Path) -> None:
    """The listener hears what is asked before what was found."""
    one = reviewed(file)
    asked = "".join(one.handover.spoken[1:2])
    assert (": please " in asked) is (one.escalation is not None and not one.escalation.is_arrest)


def test_a_long_name_leaves_out_the_least_needed() -> None:
    """What was given goes before the worst finding does; the limits stay."""
    file = next(one for one in BUNDLES if one.stem.startswith("01"))
    said = reviewed(file, name=" ".join(["Tidewell"] * 40)).handover.spoken
    assert not any(one.startswith("Given") for one in said)
    assert any("NEWS2 14" in one for one in said)
    assert any(one.startswith("Recorded: for resuscitation") for one in said)


def test_the_course_of_a_score_is_true() -> None:
    """01-sepsis: NEWS2 7 at 20:00, 9 until 05:05, 13 at 06:10 and 14 at 07:10, by its case file."""
    one = reviewed(next(file for file in BUNDLES if file.stem.startswith("01")))
    said = " ".join(one.handover.situation)
    assert "was 9 at 05:05, 13 at 06:10" in said
    assert "7 or more since 20:00 on 11 March" in said
    assert "at this level since" not in said
    assert one.lead is not None
    since = datetime(2026, 3, 11, 20, tzinfo=UTC)
    assert min(p.lowest for p in one.lead.history if p.at >= since) == 7
    assert any(p.at < since and p.lowest < 7 for p in one.lead.history)


def test_a_score_and_its_change_are_one_line() -> None:
    """A NEWS2 of 7 in somebody who bleeds: its change stands in its line, the bleeding gets its own.

    Own case: systolic pressure leads, haemoglobin has fallen from 126 to 92 after an operation.
    """
    resources = [
        patient(),
        *({**one, "id": f"{one['id']}-1", "effectiveDateTime": earlier("18 h")} for one in full_set()),
        *full_set(systolic_pressure="84 mm[Hg]", pulse="104 /min", spo2="95 %", oxygen="given"),
        observation("hb-1", "718-7", valueQuantity=quantity("126", "g/L"), at=earlier("24 h")),
        observation("hb-2", "718-7", valueQuantity=quantity("92", "g/L"), at=earlier("1 h")),
    ]
    said = review(text(bundle(*resources))).reviews[0].handover.spoken
    assert sum("NEWS2" in line for line in said) == 1
    assert any("bleeding?" in line for line in said)


@pytest.mark.parametrize(
    ("resources", "said"),
    [
        ([measured("k", "potassium", "6.6", "mmol/L")], ": severe hyperkalaemia. Since 10:00."),
        ([problem("Seizure", since=AT)], "A seizure is recorded: Seizure (10:00 on 1 March)."),
    ],
)
def test_when_it_began_is_said_once(resources: list[Json], said: str) -> None:
    """Our choice: in a sentence of its own, for it is of the whole line and not of its last word."""
    found = answer_of(patient(), *full_set(consciousness=None), *resources).reviews[0]
    assert any(line.endswith(said) for line in found.handover.spoken), found.handover.spoken


def test_no_line_is_cut_in_the_middle() -> None:
    """Own case: every finding of the demo ward that asks for somebody has few words of its own."""
    lines = [line for file in BUNDLES for line in reviewed(file).handover.spoken]
    assert lines
    assert [line for line in lines if "\u2026" in line] == []


def test_a_number_is_not_said_twice() -> None:
    """11-pregnant: the pressure that calls is the sign of the infection's risk, too; our choice of words."""
    one = reviewed(next(file for file in BUNDLES if file.stem.startswith("11")))
    for said in (one.headline, " ".join(one.handover.spoken[3:5])):
        assert said.count("88") == 1
        assert "Suspected infection, high risk by the same reading" in said


def test_the_last_dose_of_what_is_asked_about() -> None:
    """05-bleeding: apixaban at 18:00, thirteen hours before, is what a registrar asks back; our choice."""
    one = reviewed(next(file for file in BUNDLES if file.stem.startswith("05")))
    assert "Drug chart: whether to hold Apixaban, last given 18:00 on 11 March." in one.handover.spoken


def test_a_poisoning_is_said_in_place_of_what_the_chart_holds_for_it() -> None:
    """07: too much opioid was named nowhere on the telephone, only that a line is to be held. Our choice."""
    one = reviewed(next(file for file in BUNDLES if file.stem.startswith("07")))
    spoken = one.handover.spoken
    assert any(said.startswith("Too much opioid? Morphine with respiration rate 8") for said in spoken)
    assert not any(said.startswith("Drug chart") for said in spoken)
    assert any(said.startswith("Given: Morphine sulfate 23:50") for said in spoken)
    assert "No more opioid or sedative yet" in one.at_bedside


def test_continuous_monitoring_is_said_of_every_emergency_that_asks_for_it() -> None:
    """RCP 2017 chart 4: 7 or more asks for it, also where another sign decides the call (07, coma scale)."""
    one = reviewed(next(file for file in BUNDLES if file.stem.startswith("07")))
    assert one.escalation is not None
    assert one.escalation.because is not one.lead
    assert one.at_bedside.endswith("the patient. Observations: continuous monitoring of vital signs.")
    assert any("continuous monitoring" in said for said in one.handover.recommendation)


def test_an_open_total_is_said_once() -> None:
    """Ours: what could not be assessed names the open score, which is not said again."""
    seen = [one for one in full_set(pulse="104 /min") if one["id"] in ("pulse", "respiration-rate")]
    (one,) = answer_of(patient(), *seen).reviews
    assert sum("NEWS2" in said for said in one.handover.spoken) == 1


@pytest.mark.parametrize(
    ("resources", "words"),
    [
        pytest.param([*full_set(spo2="84 %")], "Oxygen to the target range", id="saturation"),
        pytest.param([*full_set(spo2="92 %")], "", id="saturation-92"),
        pytest.param(
            [*full_set(respiration_rate="7 /min"), order("Morphine 10 mg", "N02AA01")],
            "No more opioid or sedative yet",
            id="slow-breathing-on-morphine",
        ),
        pytest.param(
            [
                *full_set(respiration_rate="7 /min"),
                order("Midazolam 5 mg", "N05CD08"),
                problem("Status epilepticus", onsetDateTime=AT),
            ],
            "Airway and oxygen, glucose now, and the local protocol for a seizure",
            id="slow-breathing-in-a-fit",
        ),
        pytest.param([*full_set(respiration_rate="7 /min")], "", id="slow-breathing-alone"),
        pytest.param(
            [*full_set(), problem("Type 1 diabetes"), result("glucose", "2.4")],
            "Consider treating the low glucose now",
            id="glucose",
        ),
        pytest.param([*full_set(), result("K", "6.8")], "12-lead ECG and heart monitor now", id="potassium"),
        pytest.param([*full_set(), result("K", "6.2")], "", id="potassium-6.2"),
    ],
)
def test_what_is_done_before_anybody_comes(resources: list[Json], words: str) -> None:
    """Oxygen to the target range: BTS 2017, from memory; the rest is ours."""
    (one,) = answer_of(patient(), *resources).reviews
    first = one.at_bedside.partition(".")[0]
    assert first.startswith(words) if words else not first.startswith(("Oxygen", "No more", "12-lead"))


def test_why_somebody_is_here_is_said_once() -> None:
    """Common practice, no source: an operation, a problem of the stay; nothing that a finding says."""
    sick = full_set(respiration_rate="28 /min", spo2="93 %")
    embolism = problem("Pulmonary embolism", since=earlier("26 h"))
    known = problem("Gout", since=earlier("500 d"))
    spoken = answer_of(patient(), *sick, embolism, known).reviews[0].handover.spoken
    assert [one.startswith("Here for pulmonary embolism, ") for one in spoken].count(True) == 1
    assert "gout" not in " ".join(spoken).casefold()
    calm = answer_of(patient(), *full_set(), embolism).reviews[0].handover.spoken
    assert not any(one.startswith("Here for") for one in calm)


def test_a_recorded_limit_is_no_reason_to_be_here() -> None:
    limit = problem("Not for intensive care", since=earlier("20 h"))
    fasting = problem("Nil by mouth", since=earlier("20 h"))
    sick = full_set(respiration_rate="28 /min", spo2="90 %")
    spoken = answer_of(patient(), *sick, limit, fasting).reviews[0].handover.spoken
    assert not any(one.startswith("Here for") for one in spoken)


@pytest.mark.parametrize(
    ("reason", "said"),
    [
        ("Elective right hemicolectomy", "Here for right hemicolectomy, 1 March."),
        ("Fall; right hemicolectomy", "Here for fall; right hemicolectomy, 1 March."),
        ("Acute fall", "Here for right hemicolectomy, 1 March; acute fall, 1 March."),
    ],
)
def test_one_reason_in_two_wordings_is_one(reason: str, said: str) -> None:
    """Ours: "right hemicolectomy; elective right hemicolectomy" is one reason; what says more stands."""
    came = {**stay(), "period": {"start": earlier("6 h")}, "reasonCode": [{"text": reason}]}
    done = procedure("Right hemicolectomy", "", performedDateTime=earlier("5 h"))
    ill = measured("k", "potassium", "6.6", "mmol/L")
    spoken = answer_of(patient(), *full_set(), came, done, ill).reviews[0].handover.spoken
    assert said in spoken


def test_what_came_later_is_not_why_somebody_is_here() -> None:
    """Ours: "Here for pressure ulcer" was said of day 20 after a broken hip."""
    came = {**stay(), "period": {"start": earlier("480 h")}}
    hip = procedure("Hemiarthroplasty of hip", "", performedDateTime=earlier("470 h"))
    ulcer = problem("Pressure ulcer", since=earlier("100 h"))
    sick = full_set(respiration_rate="28 /min", spo2="90 %")
    spoken = " ".join(answer_of(patient(), *sick, came, hip, ulcer).reviews[0].handover.spoken)
    assert (
        "Here for hemiarthroplasty of hip, 9 February. On this stay: pressure ulcer, 25 February." in spoken
    )
