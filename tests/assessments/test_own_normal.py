"""What is recorded as usual for a person calls nobody; what is worse than that does.

RCP 2017 and MERIT 2007 speak of a change of mental state; NICE NG51 (2016) of a saturation below 90 % in
somebody who has another one when well. In which words a record says what is usual is common practice, no
source.
"""

import pytest

from tests.records import answer_of, earlier, full_set, patient, problem
from weatherglass.model.findings import Finding, Urgency

CHILD = "2020-06-01"
ADULT = "1950-06-01"


def _found(*resources: object, key: str) -> Finding | None:
    review = answer_of(*resources).reviews[0]  # type: ignore[arg-type]
    return next((one for one in review.findings if one.key == key), None)


@pytest.mark.parametrize("born", [CHILD, ADULT])
@pytest.mark.parametrize(
    ("usual", "answer", "urgency"),
    [
        ("Usually responds to voice only", "voice", None),
        ("Baseline AVPU: V", "voice", None),
        ("Responds to voice as usual", "voice", None),
        ("Usually responds to voice only", "pain", Urgency.EMERGENCY),
        ("Usually responds only to pain", "pain", None),
        ("Usually responds only to pain", "unresponsive", Urgency.EMERGENCY),
        ("Cerebral palsy", "voice", Urgency.URGENT),
        ("Responds to voice", "voice", Urgency.URGENT),
    ],
)
def test_alertness(born: str, usual: str, answer: str, urgency: Urgency | None) -> None:
    found = _found(patient(born), problem(usual), *full_set(consciousness=answer), key="consciousness")
    assert (found.urgency if found is not None else None) is urgency


@pytest.mark.parametrize(
    ("words", "spo2", "urgency"),
    [
        ("Usual oxygen saturation 75-82 %", "78 %", None),
        ("Usual oxygen saturation 75-82 %", "75 %", None),
        ("Usual oxygen saturation 75-82 %", "74 %", Urgency.URGENT),
        ("Usual oxygen saturation 75-82 %", "70 %", Urgency.URGENT),
        ("Usual oxygen saturation 75-82 %", "69 %", Urgency.EMERGENCY),
        ("Baseline sats 75 to 85%", "78 %", None),
        ("Hypoplastic left heart syndrome", "78 %", Urgency.EMERGENCY),
    ],
)
def test_saturation(words: str, spo2: str, urgency: Urgency | None) -> None:
    """A heart that mixes its blood: what is normal is not raised; up to 5 below is urgent (ours)."""
    found = _found(patient(CHILD), problem(words), *full_set(spo2=spo2), key="spo2")
    assert (found.urgency if found is not None else None) is urgency


def test_a_usual_saturation_is_no_sign_of_sepsis() -> None:
    """NICE NG51 (2016), under 12: below 90 % is high risk; not where 75 to 82 % is usual."""
    for usual, is_high in (("Usual oxygen saturation 75-82 %", False), ("Asthma", True)):
        review = answer_of(
            patient(CHILD), problem("Chest infection"), problem(usual, id="c2"), *full_set(spo2="78 %")
        ).reviews[0]
        named = any(
            "oxygen saturation 78" in one.sentence and "isk" in one.sentence for one in review.findings
        )
        assert named is is_high


@pytest.mark.parametrize(
    ("words", "injured", "answer", "pressures", "urgency"),
    [
        pytest.param("Tetraplegia", "400 d", "alert", ("88", "88"), None, id="usual"),
        pytest.param("Tetraplegia", "400 d", "alert", ("96", "85"), Urgency.EMERGENCY, id="lower-than-usual"),
        pytest.param("Tetraplegia", "400 d", "alert", ("106", "88"), Urgency.EMERGENCY, id="usually-higher"),
        pytest.param("Tetraplegia", "400 d", "voice", ("88", "88"), Urgency.EMERGENCY, id="not-awake"),
        pytest.param("Tetraplegia", "28 d", "alert", ("88", "88"), Urgency.URGENT, id="fresh"),
        pytest.param("Hypertension", "400 d", "alert", ("88", "88"), Urgency.URGENT, id="no-reason"),
    ],
)
def test_the_pressure_of_an_old_cord_injury(
    words: str, injured: str, answer: str, pressures: tuple[str, str], urgency: Urgency | None
) -> None:
    """RCP 2017 names the injury as a limit of NEWS2; that a usual pressure asks for nobody is our choice."""
    usual, now = pressures
    before = [
        {**one, "id": f"{one['id']}-{back}", "effectiveDateTime": earlier(f"{back} h")}
        for back in (60, 48, 36, 24)
        for one in full_set(systolic_pressure=f"{usual} mm[Hg]")
    ]
    known = problem(words, onsetDateTime=earlier(injured), recordedDate=earlier(injured))
    newest = full_set(systolic_pressure=f"{now} mm[Hg]", consciousness=answer)
    review = answer_of(patient(), known, *before, *newest).reviews[0]
    asked = max(one.urgency for one in review.findings if one.key in ("news2", "systolic-pressure"))
    assert asked is (urgency or Urgency.ROUTINE)
