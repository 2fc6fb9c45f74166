"""What a ward doctor should notice on the demo ward, case by case, by the real door.

Derived by hand from each case's `[expected]` block in fixtures/cases, and from the
publications named there; the keys and urgencies are those of our own ranking.
"""

from functools import cache
from pathlib import Path

import pytest

from weatherglass.model.findings import Finding, Kind, State, Urgency
from weatherglass.model.review import Review
from weatherglass.pipeline import review

_BUNDLES = Path(__file__).parents[1] / "fixtures" / "bundles"
_WARD = sorted(path.stem for path in _BUNDLES.glob("*.json"))
E, U, P, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT, Urgency.ROUTINE


@cache
def _review(stem: str) -> Review:
    (one,) = review((_BUNDLES / f"{stem}.json").read_bytes()).reviews
    return one


def _found(stem: str, kind: str, key: str) -> Finding:
    return next(f for f in _review(stem).findings if f.kind.value == kind and f.key == key)


@pytest.mark.parametrize(
    ("stem", "kind", "key", "urgency", "words"),
    [
        ("01-sepsis", "score-trend", "news2", E, "newly 3 points for consciousness"),
        (
            "01-sepsis",
            "oxygen-requirement",
            "oxygen-requirement",
            U,
            "a nasal cannula, 2 L/min and stepped up",
        ),
        ("01-sepsis", "critical-result", "lactate-high", E, "4.3 mmol/L, up from 2.3"),
        ("01-sepsis", "blood-gas", "metabolic-acidosis", U, "pH 7.31"),
        ("01-sepsis", "sepsis-risk", "sepsis-risk", E, "given at 20:45 on 11 March"),
        ("01-sepsis", "concern", "concern", U, "not himself"),
        ("01-sepsis", "treatment-response", "oxygen-started", R, "NEWS2 5 then 7 then 14"),
        ("01-sepsis", "treatment-response", "fluid-given", R, "500 mL"),
        (
            "02-usual-low-pressure",
            "long-standing-low-pressure",
            "systolic-pressure",
            R,
            "no lower than usual",
        ),
        ("03-copd-scale-2", "oxygen-target", "spo2-above-target", R, "22:10 on 10 March (96 %"),
        ("03-copd-scale-2", "blood-gas", "hypercapnia", R, "without acidosis"),
        ("04-aki-nephrotoxics", "critical-result", "potassium-high", U, "6.2 mmol/L, up from 5.8"),
        ("04-aki-nephrotoxics", "vital-sign-trend", "systolic-pressure", P, "from 128 to 98 mmHg"),
        ("04-aki-nephrotoxics", "blood-gas", "metabolic-acidosis", U, "HCO3 16"),
        ("05-bleeding-anticoagulant", "possible-bleeding", "possible-bleeding", E, "27 g/L in 30 hours"),
        ("05-bleeding-anticoagulant", "possible-bleeding", "possible-bleeding", E, "shock index of 1.08"),
        ("05-bleeding-anticoagulant", "possible-bleeding", "possible-bleeding", E, "black stool"),
        ("05-bleeding-anticoagulant", "laboratory-trend", "haemoglobin", R, "down 27 from 128"),
        ("06-hypoglycaemia", "critical-result", "glucose-low", E, "Glucose 2.9 mmol/L, down from 3.1"),
        ("07-drowsy-opioids", "blood-gas", "respiratory-acidosis", U, "pCO2 8.1 kPa"),
        ("07-drowsy-opioids", "single-sign", "consciousness", E, "12, down 3 from 15"),
        ("07-drowsy-opioids", "vital-sign-trend", "respiration-rate", R, "to 8 /min"),
        ("09-incomplete-after-operation", "critical-result", "potassium-high", U, "possibly spurious"),
        ("09-incomplete-after-operation", "context", "post-operative-day", R, "day 2: Right hemicolectomy"),
        ("09-incomplete-after-operation", "score-trend", "news2", U, "NEWS2 at least 5"),
        ("10-ceiling-of-treatment", "score-trend", "news2", E, "NEWS2 7: up from 5"),
        ("10-ceiling-of-treatment", "sepsis-risk", "sepsis-risk", E, "high risk"),
        ("11-pregnant", "single-sign", "systolic-pressure", E, "88 mmHg: below 90"),
        ("11-pregnant", "sepsis-risk", "sepsis-signs", E, "lactate 2.4"),
        ("12-child", "concern", "concern", U, "relative or carer"),
        ("12-child", "oxygen-requirement", "oxygen-requirement", P, "from air"),
        ("13-recovering-aki", "context", "step-down", R, "Out of critical care since 14:00 on 11 March"),
        ("13-recovering-aki", "laboratory-trend", "creatinine", R, "falling steadily"),
    ],
)
def test_to_be_noticed(stem: str, kind: str, key: str, urgency: Urgency, words: str) -> None:
    """Each of these stands in the review, as urgent and in these words."""
    found = _found(stem, kind, key)
    assert found.urgency is urgency
    assert words in found.sentence


@pytest.mark.parametrize(
    ("stem", "kind", "key"),
    [
        ("02-usual-low-pressure", "vital-sign-trend", "systolic-pressure"),
        ("03-copd-scale-2", "blood-gas", "respiratory-acidosis"),
        ("09-incomplete-after-operation", "possible-bleeding", "possible-bleeding"),
        ("11-pregnant", "score-trend", "news2"),
        ("11-pregnant", "sepsis-risk", "sepsis-risk"),
        ("12-child", "score-trend", "news2"),
        ("13-recovering-aki", "oxygen-requirement", "oxygen-requirement"),
    ],
)
def test_not_to_be_said(stem: str, kind: str, key: str) -> None:
    """No fall where low is usual, no acidosis at pH 7.37, no bleeding at a fall of 8 g/L, and so on."""
    assert not [f for f in _review(stem).findings if (f.kind.value, f.key) == (kind, key)]


def test_a_saturation_held_up_by_a_reservoir_mask_is_not_settling() -> None:
    """93 % on 8 L/min at 06:10, 94 % on 15 L/min at 07:10: back in the range, and more ill."""
    about = [f for f in _review("01-sepsis").findings if f.key in ("spo2", "spo2-below-target")]
    assert about
    assert State.SETTLING not in {f.state for f in about}


def test_well_going_home() -> None:
    """Nothing to find, and nothing is found: no finding asks for anybody."""
    one = _review("08-well-going-home")
    assert one.urgency is R
    assert [f.key for f in one.findings if f.urgency is not R] == []


def test_a_low_score_does_not_hide_the_patient() -> None:
    """NEWS2 3, which alone is routine, beside an emergency."""
    assert _review("05-bleeding-anticoagulant").urgency is E
    assert _review("04-aki-nephrotoxics").urgency >= U


@pytest.mark.parametrize("stem", _WARD)
def test_every_finding_carries_what_it_rests_on(stem: str) -> None:
    """Source, deciding rule, time, state and inputs: nothing is said without them."""
    assert _review(stem).findings
    for finding in _review(stem).findings:
        assert finding.sources, finding.key
        assert finding.sentence.strip().endswith((".", "?")), finding.key
        if finding.urgency > R and finding.state is not State.SETTLING:
            assert finding.decided_by, finding.key
            assert finding.evidence, finding.key
        if finding.state is not None:
            assert finding.since is not None, finding.key
        if finding.state is State.SETTLING:
            assert finding.since is not None


@pytest.mark.parametrize("stem", _WARD)
def test_keys_are_unique_within_a_kind(stem: str) -> None:
    """A finding can be told from every other one by kind and key, so that it can be followed."""
    names = [
        (f.kind, f.key, getattr(f, "is_current", True), getattr(f, "order", ""))
        for f in _review(stem).findings
    ]
    assert len(set(names)) == len(names)


def test_the_medicine_that_the_danger_names_first_is_named_first() -> None:
    """Slow breathing: the opioid before the other sedatives; the signs that call come first of all."""
    one = _review("07-drowsy-opioids")
    assert one.headline.startswith("Responds only to voice, coma scale 12")
    first = next(f for f in one.findings if f.kind is Kind.MEDICINE)
    assert "Consider holding the next dose of Morphine" in first.sentence
    held = next(
        s for s in one.handover.recommendation if s.startswith("Drug chart, please decide whether to hold")
    )
    assert held.partition(": ")[2].startswith("Morphine")
