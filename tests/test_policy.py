"""Local policy: every key is checked, and each one changes what it says it changes."""

from datetime import timedelta
from pathlib import Path

import pytest

from tests.records import bundle, full_set, observation, ordered, patient, quantity, score_in, text
from weatherglass.fhir.reading.bundle import read_bytes
from weatherglass.model.findings import Kind
from weatherglass.model.local_choices import LocalChoices
from weatherglass.model.signals import Signal
from weatherglass.pipeline import review, vocabulary_of
from weatherglass.policy import PolicyError, load_policy, policy_of


def _policy(folder: Path, content: str) -> str:
    path = folder / "policy.toml"
    path.write_text(content, "utf-8")
    return str(path)


def test_the_defaults_need_no_file() -> None:
    assert load_policy(None).choices.observation_set_window == timedelta(minutes=15)
    assert load_policy(None).choices == LocalChoices()


@pytest.mark.parametrize(
    ("content", "named"),
    [
        ("observation_window = 5", "observation_window"),
        ("observation_set_window_minutes = 61", "observation_set_window_minutes"),
        ("observation_set_window_minutes = 'soon'", "observation_set_window_minutes"),
        ("egfr_equation = 'mdrd'", "egfr_equation"),
        ("scores = ['anything']", "scores"),
        ("[roles]\nchief = 'x'", "roles.chief"),
        ("[deadlines]\nurgent_minutes = 1", "deadlines.urgent_minutes"),
        ("[critical_limits.potassium-high]\nurgent = 6.0\nemergency = 5.9", "critical_limits"),
        ("[[local_codes]]\nsystem = 'x'\ncode = 'y'\nmeans = 'mood'", "local_codes.0.means"),
        (
            "[[local_medicines]]\nwords = 'Ward mix'\ningredients = ['ramapril']",
            "local_medicines.0.ingredients",
        ),
        ("[[local_medicines]]\nwords = 'Ward mix'\ningredients = []", "local_medicines.0.ingredients"),
        ("[[local_medicines]]\nwords = '-'\ningredients = ['ramipril']", "local_medicines.0"),
        ("[[local_medicines]]\ncode = 'x'\ningredients = ['ramipril']", "local_medicines.0"),
        ("not toml at all", "not TOML"),
    ],
)
def test_a_slip_is_refused_with_its_name(tmp_path: Path, content: str, named: str) -> None:
    with pytest.raises(PolicyError, match=named):
        load_policy(_policy(tmp_path, content))


def test_no_such_file(tmp_path: Path) -> None:
    with pytest.raises(PolicyError, match="No such file"):
        load_policy(str(tmp_path / "none.toml"))


def test_roles_and_deadlines_reach_the_review(tmp_path: Path) -> None:
    content = "[roles]\nsenior = 'night registrar'\n[deadlines]\nemergency_minutes = 15\n"
    choices = load_policy(_policy(tmp_path, content)).choices
    body = text(bundle(patient(), *full_set(pulse="135 /min", respiration_rate="28 /min", spo2="90 %")))
    (one,) = review(body, choices=choices).reviews
    assert one.escalation is not None
    assert one.escalation.roles[0] == "night registrar"
    assert one.escalation.within == timedelta(minutes=15)


def test_the_window_of_a_round(tmp_path: Path) -> None:
    late = observation("t", "8310-5", at="2026-03-01T10:20:00+04:00", valueQuantity=quantity("37.0", "Cel"))
    body = text(bundle(patient(), *full_set(temperature=None), late))
    assert score_in(review(body)).total is None
    wide = load_policy(_policy(tmp_path, "observation_set_window_minutes = 20")).choices
    assert score_in(review(body, choices=wide)).total == 0


def test_a_sites_own_code_is_read_as_what_it_means(tmp_path: Path) -> None:
    content = "[[local_codes]]\nsystem = 'urn:ward:codes'\ncode = 'PULS'\nmeans = 'pulse'\n"
    choices = load_policy(_policy(tmp_path, content)).choices
    own = observation("hr", "PULS", system="urn:ward:codes", valueQuantity=quantity("80", "/min"))
    body = text(bundle(patient(), own))
    assert not read_bytes(body).records[0][1].numbers if read_bytes(body).records else True
    reading = read_bytes(body, vocabulary_of(choices))
    assert [m.value for m in reading.records[0][1].series(Signal.PULSE)] == [80]


_OWN_MEDICINES = """
[[local_medicines]]
system = 'urn:ward:formulary'
code = 'A17'
ingredients = ['Naproxen']
[[local_medicines]]
words = 'Ward mix 2'
ingredients = ['ramipril', 'paracetamol']
"""


@pytest.mark.parametrize(
    ("concept", "ingredients"),
    [
        ({"coding": [{"system": "urn:ward:formulary", "code": "A17", "display": "Blue box"}]}, ("naproxen",)),
        ({"coding": [{"system": "urn:other", "code": "A17", "display": "Blue box"}]}, ()),
        ({"text": "WARD-MIX 2 tablets"}, ("ramipril",)),
        ({"text": "Ward mix 23"}, ()),
        # What the words name besides is kept.
        ({"text": "Ward mix 2 with amlodipine"}, ("amlodipine", "ramipril")),
    ],
)
def test_a_sites_own_medicine_is_what_it_says(
    tmp_path: Path, concept: dict[str, object], ingredients: tuple[str, ...]
) -> None:
    """By its code or its words; without the policy it is listed as not recognised."""
    choices = load_policy(_policy(tmp_path, _OWN_MEDICINES)).choices
    order = {
        "resourceType": "MedicationRequest",
        "id": "m",
        "status": "active",
        "intent": "order",
        "subject": {"reference": "Patient/p"},
        "medicationCodeableConcept": concept,
    }
    body = text(bundle(patient(), order))
    ((_, record),) = read_bytes(body, vocabulary_of(choices)).records
    assert record.orders[0].medicine.ingredients == ingredients
    ((_, unknown),) = read_bytes(body).records
    assert set(unknown.orders[0].medicine.ingredients) <= {"amlodipine"}


def test_scores_beside_the_chosen_ones(tmp_path: Path) -> None:
    from weatherglass.model.findings import ScoreFinding

    choices = load_policy(_policy(tmp_path, "scores = ['news2']")).choices
    (one,) = review(text(bundle(patient(), *full_set())), choices=choices).reviews
    assert {f.key for f in one.findings if isinstance(f, ScoreFinding)} == {"news2"}


@pytest.mark.parametrize(
    "concept", [{"coding": [{"system": "urn:ward:formulary", "code": "A17"}]}, {"text": "Blue box"}]
)
def test_a_sites_own_medicine_is_an_allergy_too(tmp_path: Path, concept: dict[str, object]) -> None:
    """An allergy to a local name meets its ingredient and the class of that."""
    content = f"{_OWN_MEDICINES}[[local_medicines]]\nwords = 'Blue box'\ningredients = ['naproxen']\n"
    allergy = {"resourceType": "AllergyIntolerance", "patient": {"reference": "Patient/p"}, "code": concept}
    order = ordered("Ibuprofen 400 mg tablets")
    body = text(bundle(patient(), *full_set(), {**allergy, "id": "a", "criticality": "high"}, order))
    (one,) = review(body, choices=load_policy(_policy(tmp_path, content)).choices).reviews
    assert any(finding.kind is Kind.ALLERGY for finding in one.findings)
    (without,) = review(body).reviews
    assert not any(finding.kind is Kind.ALLERGY for finding in without.findings)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        pytest.param({"carry_forward_minutes": "x"}, "a whole number is wanted", id="whole-number"),
        pytest.param({"carry_forward_minutes": 1.5}, "a whole number is wanted", id="fraction"),
        pytest.param({"carry_forward_minutes": 0}, "it should be greater than or equal to 1", id="too-small"),
        pytest.param({"use_estimated_baseline": "maybe"}, "true or false is wanted", id="yes-or-no"),
        pytest.param({"egfr_equation": "x"}, "'ckd-epi-2021' or 'ckd-epi-2009'", id="one-of-two"),
        pytest.param({"roles": 3}, "a table is wanted", id="table"),
        pytest.param({"scores": "news2"}, "a list in square brackets is wanted", id="list"),
        pytest.param(
            {"critical_limits": {"potasium-high": {"emergency": 6}}},
            "did you mean potassium-high?",
            id="slip-in-a-limit",
        ),
    ],
)
def test_a_wrong_value_is_said_in_plain_words(content: dict[str, object], said: str) -> None:
    """Whoever writes a policy knows TOML, not the library that reads it. Our choice of words."""
    with pytest.raises(PolicyError) as refused:
        policy_of(content, "policy")
    assert said in str(refused.value)
    assert "Value error" not in str(refused.value)
    assert "Input should" not in str(refused.value)
