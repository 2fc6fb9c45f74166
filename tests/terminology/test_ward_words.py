"""How injury, heat, travel and dying tissue are written; our own reading."""

import pytest

from weatherglass.fhir.reading.problems.problem_words import kinds_in_words
from weatherglass.model.record.problems import ConditionKind as K


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("Collapse while running", K.HEAT_OR_EXERTION),
        ("Collapsed at the end of a marathon", K.HEAT_OR_EXERTION),
        ("Heat exhaustion", K.HEAT_OR_EXERTION),
        ("Fracture of tibia", K.INJURED_LIMB),
        ("Closed fracture of shaft of radius", K.INJURED_LIMB),
        ("Tibial plateau fracture", K.INJURED_LIMB),
        ("Crush injury of forearm", K.INJURED_LIMB),
        ("Pain on passive stretch of toes", K.PAIN_BEYOND_INJURY),
        ("Pain out of proportion to injury", K.PAIN_BEYOND_INJURY),
        ("Tense calf", K.PAIN_BEYOND_INJURY),
        ("Ludwig angina", K.AIRWAY_THREATENED),
        ("Inhalation injury", K.AIRWAY_THREATENED),
        ("Paraquat ingestion", K.OVERDOSE),
        ("Took 30 tablets of ramipril", K.OVERDOSE),
        ("Cellulitis of left leg", K.SOFT_TISSUE_INFECTION),
        ("Infected diabetic foot ulcer", K.SOFT_TISSUE_INFECTION),
        ("Skin dusky with blisters, crepitus at calf", K.DYING_TISSUE),
        ("Gas in soft tissues of thigh", K.DYING_TISSUE),
        ("Fever in returned traveller", K.RETURNED_TRAVELLER),
        ("Returned from Nigeria", K.RETURNED_TRAVELLER),
        ("Acute gallstone pancreatitis", K.PANCREATITIS),
    ],
)
def test_it_is_read(text: str, kind: K) -> None:
    assert kind in kinds_in_words(text).kinds


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("Collapse", K.HEAT_OR_EXERTION),
        ("Stress fracture of tibia", K.INJURED_LIMB),
        ("Fracture of vertebra", K.INJURED_LIMB),
        ("No pain on passive stretch", K.PAIN_BEYOND_INJURY),
        ("Crepitus of both knees", K.DYING_TISSUE),
        ("Crepitus at both lung bases", K.DYING_TISSUE),
        ("Urinary tract infection", K.SOFT_TISSUE_INFECTION),
        ("Travel vaccination", K.RETURNED_TRAVELLER),
        ("Chronic pancreatitis", K.PANCREATITIS),
    ],
)
def test_it_is_something_else(text: str, kind: K) -> None:
    assert kind not in kinds_in_words(text).kinds
