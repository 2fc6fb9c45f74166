"""Crises of blood and of its treatments, at both ends of each sign.

Expected: ASTCT 2019 (release of cytokines from 38.0 °C) from memory; Gertz 2018, abstract (viscosity is not
waited for); fever without a spleen, leukostasis from 100 white cells, factor before imaging in haemophilia,
differentiation syndrome and closed veins of the liver (bilirubin 2 mg/dL, 34.2 µmol/L) from memory. How soon
and for how long is our choice.
"""

from typing import Any

import pytest

from tests.charts import administered, condition, crises_asked, order, was_done
from tests.records import has_problem
from weatherglass.model.findings import Urgency
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.problems import ConditionKind as C
from weatherglass.model.signals import CodedSignal, Consciousness, Signal

E, U, P = Urgency.EMERGENCY, Urgency.URGENT, Urgency.PROMPT
T, SPO2, BP, RATE = Signal.TEMPERATURE, Signal.SPO2, Signal.SYSTOLIC_PRESSURE, Signal.RESPIRATION_RATE
WCC, HB, BILI, CREAT = Signal.WHITE_CELLS, Signal.HAEMOGLOBIN, Signal.BILIRUBIN, Signal.CREATININE
MIND: dict[Any, Any] = {CodedSignal.CONSCIOUSNESS: Consciousness.NEW_CONFUSION}
DAY = 24


def _lately(kind: C, days: float = 1) -> Any:
    return condition(kind, began=days * DAY)


OLD_SPLEEN = _lately(C.NO_SPLEEN, 9000)
WALDENSTROM, MYELOMA = _lately(C.PARAPROTEIN, 900), _lately(C.MYELOMA, 900)
THICK = condition(C.POLYCYTHAEMIA, began=900 * DAY)
LEUKAEMIA, APL = _lately(C.ACUTE_LEUKAEMIA), _lately(C.PROMYELOCYTIC_LEUKAEMIA, 8)
BLEEDER = _lately(C.HAEMOPHILIA, 9000)
SICKLE = _lately(C.SICKLE_DISEASE, 9000)
GRAFT = _lately(C.STEM_CELL_TRANSPLANT, 14)


@pytest.mark.parametrize(
    ("signs", "problems", "key", "urgency"),
    [
        pytest.param({T: "37.9"}, (OLD_SPLEEN,), "fever-without-a-spleen", None, id="spleen-37.9"),
        pytest.param({T: "38.0"}, (OLD_SPLEEN,), "fever-without-a-spleen", U, id="spleen-38.0"),
        pytest.param({T: "38.0", **MIND}, (OLD_SPLEEN,), "fever-without-a-spleen", E, id="spleen-mind"),
        pytest.param(
            {}, (WALDENSTROM, _lately(C.DISTURBED_SIGHT)), "viscosity-of-paraprotein", U, id="sight"
        ),
        pytest.param({}, (WALDENSTROM, _lately(C.MINOR_BLEEDING)), "viscosity-of-paraprotein", U, id="nose"),
        pytest.param(
            MIND, (WALDENSTROM, _lately(C.HEADACHE)), "viscosity-of-paraprotein", E, id="headache-mind"
        ),
        pytest.param({}, (WALDENSTROM, _lately(C.HEADACHE, 8)), "viscosity-of-paraprotein", None, id="older"),
        pytest.param({}, (WALDENSTROM,), "viscosity-of-paraprotein", None, id="alone"),
        pytest.param(
            {}, (MYELOMA, _lately(C.DISTURBED_SIGHT)), "viscosity-of-myeloma", U, id="myeloma-sight"
        ),
        pytest.param({}, (MYELOMA, _lately(C.HEADACHE)), "viscosity-of-myeloma", None, id="myeloma-headache"),
        pytest.param({HB: 184}, (THICK, _lately(C.HEADACHE)), "viscosity-of-red-cells", None, id="hb-184"),
        pytest.param({HB: 185}, (THICK, _lately(C.HEADACHE)), "viscosity-of-red-cells", P, id="hb-185"),
        pytest.param({HB: 185}, (THICK,), "viscosity-of-red-cells", None, id="hb-185-well"),
        pytest.param({WCC: "99.9"}, (LEUKAEMIA,), "leukostasis", None, id="white-99.9"),
        pytest.param({WCC: 100}, (LEUKAEMIA,), "leukostasis", U, id="white-100"),
        pytest.param({WCC: 100, **MIND}, (LEUKAEMIA,), "leukostasis", E, id="white-100-mind"),
        pytest.param({WCC: 100, SPO2: 91}, (LEUKAEMIA,), "leukostasis-with-signs", E, id="white-100-91"),
        pytest.param({WCC: 100, SPO2: 92}, (LEUKAEMIA,), "leukostasis-with-signs", None, id="white-100-92"),
        pytest.param({WCC: 186}, (_lately(C.CANCER),), "leukostasis", None, id="chronic"),
        pytest.param({}, (BLEEDER, _lately(C.HEAD_INJURY)), "haemophilia-head", E, id="head"),
        pytest.param({}, (BLEEDER, _lately(C.HEAD_INJURY, 4)), "haemophilia-head", None, id="head-of-old"),
        pytest.param({}, (BLEEDER, _lately(C.BLED_INTO_JOINT)), "haemophilia-bleed", U, id="joint"),
        pytest.param({}, (BLEEDER,), "haemophilia-bleed", None, id="haemophilia-well"),
        pytest.param({T: "38.4", RATE: 20}, (APL,), "differentiation", None, id="apl-fever-alone"),
        pytest.param({T: "38.4", RATE: 21}, (APL,), "differentiation", U, id="apl-two"),
        pytest.param({T: "38.4", RATE: 21, SPO2: 93, BP: 99}, (APL,), "differentiation", E, id="apl-four"),
        pytest.param({BILI: "34.1"}, (GRAFT,), "liver-after-stem-cells", None, id="bilirubin-34.1"),
        pytest.param({BILI: "34.2"}, (GRAFT,), "liver-after-stem-cells", U, id="bilirubin-34.2"),
        pytest.param(
            {BILI: 60}, (_lately(C.STEM_CELL_TRANSPLANT, 36),), "liver-after-stem-cells", None, id="late"
        ),
        pytest.param(
            {}, (SICKLE, _lately(C.STROKE_SIGNS)), "stroke-in-sickle-disease", E, id="sickle-stroke"
        ),
        pytest.param({}, (SICKLE, _lately(C.STROKE_SIGNS, 3)), "stroke-in-sickle-disease", None, id="past"),
        pytest.param({HB: 49}, (_lately(C.IMMUNE_HAEMOLYSIS),), "haemolysis-low", E, id="haemolysis-49"),
        pytest.param({HB: 50}, (_lately(C.IMMUNE_HAEMOLYSIS),), "haemolysis-low", None, id="haemolysis-50"),
    ],
)
def test_asked_at_its_signs(
    signs: dict[Any, Any], problems: tuple[Any, ...], key: str, urgency: Urgency | None
) -> None:
    found = crises_asked(signs, *problems).get(key)
    assert (found.urgency if found is not None else None) is urgency


CELLS = {"procedures": (was_done(ProcedureKind.T_CELLS_GIVEN, hours=96, text="CAR-T cell infusion"),)}
BINDER = {"orders": (order("Teclistamab", "t-cell-therapy"),)}


@pytest.mark.parametrize("rest", [CELLS, BINDER])
@pytest.mark.parametrize(
    ("signs", "urgency"),
    [
        ({T: "37.9"}, None),
        ({T: "38.0"}, U),
        ({T: "38.0", BP: 99}, E),
        ({T: "38.0", BP: 100}, U),
        ({T: "38.0", **MIND}, E),
    ],
)
def test_cytokines_or_infection(rest: dict[str, Any], signs: dict[Any, Any], urgency: Urgency | None) -> None:
    """Both are treated: neither is said to be ruled out."""
    found = crises_asked(signs, **rest).get("cytokine-release")
    assert (found.urgency if found is not None else None) is urgency
    if found is not None:
        assert "cannot be told apart" in found.sentence


def test_t_cells_in_the_brain() -> None:
    """Any altered mind, with or without a fever, for 30 days."""
    assert crises_asked(MIND, **CELLS)["t-cells-in-the-brain"].urgency is E
    past = was_done(ProcedureKind.T_CELLS_GIVEN, hours=31 * DAY)
    assert "t-cells-in-the-brain" not in crises_asked(MIND, procedures=(past,))


NEUT, PLT, CK = Signal.NEUTROPHILS, Signal.PLATELETS, Signal.CREATINE_KINASE


@pytest.mark.parametrize(
    ("signs", "urgency"),
    [
        ({NEUT: "0.9", PLT: 75, CK: 999}, None),
        ({NEUT: "0.9", PLT: 74, CK: 999}, U),
        ({NEUT: "0.9", PLT: 74, CK: 1000}, E),
    ],
)
def test_poisoned_by_colchicine(signs: dict[Any, Any], urgency: Urgency | None) -> None:
    """Marrow and muscle together, on it or within a week."""
    line = {"orders": (order("Colchicine 500 micrograms", "colchicine"),)}
    found = crises_asked(signs, **line).get("colchicine-poisoning")
    assert (found.urgency if found is not None else None) is urgency
    assert "colchicine-poisoning" not in crises_asked(signs)


@pytest.mark.parametrize(
    ("signs", "urgency"), [({T: "37.9"}, None), ({T: "38.0"}, U), ({T: "38.0", **MIND}, E)]
)
def test_fever_on_a_complement_inhibitor(signs: dict[Any, Any], urgency: Urgency | None) -> None:
    """Label of eculizumab, from memory: meningococci, vaccinated or not; the last dose acts for 90 days."""
    line = {"orders": (order("Eculizumab 900 mg", "complement-inhibitor"),)}
    found = crises_asked(signs, **line).get("fever-without-complement")
    assert (found.urgency if found is not None else None) is urgency
    for days, is_asked in ((90, urgency is not None), (91, False)):
        dose = administered("Ravulizumab", days * DAY, "complement-inhibitor")
        assert ("fever-without-complement" in crises_asked(signs, administrations=(dose,))) is is_asked


@pytest.mark.parametrize(
    ("signs", "urgency"),
    [
        ({T: "38.4", PLT: 99, HB: 89}, None),
        ({T: "38.5", PLT: 99, HB: 89}, P),
        ({T: "38.5", PLT: 99, HB: 89, NEUT: "0.9"}, U),
    ],
)
def test_haemophagocytosis(signs: dict[Any, Any], urgency: Urgency | None) -> None:
    """HScore 2014, from memory: ferritin decides and is not read."""
    stills = _lately(C.BRINGS_HAEMOPHAGOCYTOSIS, 900)
    found = crises_asked(signs, stills).get("haemophagocytosis")
    assert (found.urgency if found is not None else None) is urgency
    assert "haemophagocytosis" not in crises_asked(signs)


def test_a_spleen_that_was_taken_out() -> None:
    """It may stand as a procedure alone; once treated the sentence says with what."""
    out = was_done(ProcedureKind.SPLEEN_REMOVED, hours=3000 * DAY, text="Splenectomy")
    dose = administered("Ceftriaxone", 1, "antibacterial")
    found = crises_asked({T: "38.6"}, procedures=(out,), administrations=(dose,))["fever-without-a-spleen"]
    assert found.sentence.startswith("Sepsis without a spleen? Splenectomy, ")


@pytest.mark.parametrize(("degrees", "urgency"), [("37.9", None), ("38.0", P)])
def test_fever_on_cancer_treatment_with_a_known_count(degrees: str, urgency: Urgency | None) -> None:
    """Neutrophils of today speak against neutropenic sepsis, and not against an infection."""
    found = crises_asked(
        {T: degrees, Signal.NEUTROPHILS: "6.4"}, orders=(order("Docetaxel", "cancer-medicine"),)
    ).get("fever-without-defences")
    assert (found.urgency if found is not None else None) is urgency


@pytest.mark.parametrize(
    ("words", "kind", "means"),
    [
        ("Waldenström macroglobulinaemia", C.PARAPROTEIN, True),
        ("Smouldering myeloma", C.MYELOMA, False),
        ("Polycythaemia vera", C.POLYCYTHAEMIA, True),
        ("Polycythaemia of the newborn", C.POLYCYTHAEMIA, False),
        ("Splenectomy 2009", C.NO_SPLEEN, True),
        ("Hyposplenism", C.NO_SPLEEN, True),
        ("Severe haemophilia A", C.HAEMOPHILIA, True),
        ("Haemophilia carrier", C.HAEMOPHILIA, False),
        ("Acute myeloid leukaemia", C.ACUTE_LEUKAEMIA, True),
        ("Chronic lymphocytic leukaemia", C.ACUTE_LEUKAEMIA, False),
        ("Allogeneic haematopoietic stem cell transplant", C.STEM_CELL_TRANSPLANT, True),
        ("CAR-T therapy", C.T_CELL_THERAPY, True),
        ("Lymphoma on R-CHOP", C.CHEMOTHERAPY, True),
        ("Rice allergy", C.CHEMOTHERAPY, False),
        ("SCT", C.STEM_CELL_TRANSPLANT, False),
        ("Allo-SCT 2025", C.STEM_CELL_TRANSPLANT, True),
        ("AML", C.ACUTE_LEUKAEMIA, True),
        ("Renal AML", C.CANCER, False),
        ("NSCLC", C.CANCER, True),
        ("Autoimmune haemolytic anaemia", C.IMMUNE_HAEMOLYSIS, True),
        ("Microangiopathic haemolytic anaemia", C.IMMUNE_HAEMOLYSIS, False),
    ],
)  # fmt: skip
def test_words(words: str, kind: C, means: bool) -> None:
    assert has_problem(words, kind) is means
