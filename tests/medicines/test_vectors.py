"""Eighteen drug charts with what they should lead to, constructed from the published lists.

The lists: NICE NG148 and NG28, the UK renal pharmacy guidance of 2016, MHRA March 2020, UK Kidney
Association 2023, BSH 2011, ACG-CAG 2022, Joint British Diabetes Societies, the steroid card of 2020,
FDA 2020; the rest from memory. Each chart is read as FHIR and reviewed through the real door.
"""

from tests.medicines.wards import (
    about_medicines,
    injury,
    interactions,
    order,
    problem,
    result,
    reviewed,
    said_of,
    suggestions,
)
from tests.records import AT, Json, alertness, full_set
from weatherglass.model.findings import Kind, Urgency


def test_1_kidney_injury_stage_2_and_a_low_pressure() -> None:
    """NSAID, ACE inhibitor and metformin: consider holding; loop diuretic: review; each with a way back."""
    found = suggestions(
        reviewed(
            *injury(2),
            result("K", "5.2"),
            result("SBP", "96"),
            order("Ibuprofen 400 mg tablets", "M01AE01"),
            order("Ramipril 5 mg capsules", "C09AA05"),
            order("Furosemide 40 mg tablets", "C03CA01"),
            order("Metformin 500 mg tablets", "A10BA02"),
        )
    )
    assert {name: f.action for name, f in found.items()} == {
        "ibuprofen": "hold",
        "ramipril": "hold",
        "furosemide": "review",
        "metformin": "hold",
    }
    assert "avoid" in found["ibuprofen"].also
    assert {r.rule for r in found["ramipril"].reasons} == {"aki-raas", "hypotension-raas"}
    assert "overloaded" in said_of(found["furosemide"])
    assert all(f.restart is not None and f.restart.condition and f.restart.by for f in found.values())


def test_an_sglt2_inhibitor_with_a_low_pressure_in_heart_failure() -> None:
    """Ours: held where the pressure is low, reviewed in heart failure, held again in shock."""
    heart, low = problem("Heart failure"), result("SBP", "96")
    taken = order("Dapagliflozin 10 mg")

    def said(*resources: Json) -> str:
        (found,) = suggestions(reviewed(result("Na", "140"), *resources, taken)).values()
        return found.action

    assert [said(low), said(low, heart)] == ["hold", "review"]
    assert said(result("SBP", "84"), result("lactate", "4.4"), heart) == "hold"


def test_2_stage_1_with_heart_failure() -> None:
    """ACE inhibitor: review, not hold; MRA: hold; beta-blocker: review, and not to be stopped."""
    found = suggestions(
        reviewed(
            *injury(1),
            result("K", "4.6"),
            result("SBP", "138"),
            problem("Heart failure"),
            order("Atenolol 25 mg tablets", "C07AB03"),
            order("Ramipril 5 mg capsules", "C09AA05"),
            order("Spironolactone 25 mg tablets", "C03DA01"),
        )
    )
    assert {name: f.action for name, f in found.items()} == {
        "atenolol": "review",
        "ramipril": "review",
        "spironolactone": "hold",
    }
    assert "tapered" in found["atenolol"].do_not_stop
    assert all(any("Heart failure is recorded" in c for c in f.cautions) for f in found.values())
    assert any("the blood pressure is low" in change for change in found["ramipril"].would_change)


def test_3_potassium_5_7() -> None:
    """Trimethoprim, heparin and ARB: review all three, repeat potassium, hold none."""
    found = suggestions(
        reviewed(
            result("creatinine", "80", "2026-02-27T10:00:00+04:00"),
            result("creatinine", "82"),
            result("K", "5.7"),
            order("Trimethoprim 200 mg tablets", "J01EA01"),
            order("Enoxaparin 40 mg injection", "B01AB05"),
            order("Candesartan 8 mg tablets", "C09CA06"),
        )
    )
    assert {f.action for f in found.values()} == {"review"}
    assert len(found) == 3
    assert all(any("potassium again" in each for each in f.monitor) for f in found.values())


def test_4_potassium_6_2() -> None:
    """MRA, ACE inhibitor and potassium: hold all three, ECG, repeat."""
    found = suggestions(
        reviewed(
            result("K", "6.2"),
            order("Spironolactone 25 mg tablets", "C03DA01"),
            order("Lisinopril 10 mg tablets", "C09AA03"),
            order("Potassium chloride 600 mg tablets", "A12BA01"),
        )
    )
    assert {f.action for f in found.values()} == {"hold"}
    assert len(found) == 3
    assert all(f.urgency is Urgency.URGENT for f in found.values())
    assert all(any("ECG" in each for each in f.monitor) for f in found.values())


def test_5_potassium_6_6_haemolysed() -> None:
    """Possibly spurious: repeat urgently, and only if confirmed hold; never called severe as a fact."""
    answer = reviewed(
        result("K", "6.6", note=[{"text": "Sample haemolysed"}]),
        order("Spironolactone 25 mg tablets", "C03DA01"),
        order("Lisinopril 10 mg tablets", "C09AA03"),
    )
    found = suggestions(answer)
    assert {f.action for f in found.values()} == {"review"}
    for finding in found.values():
        assert finding.sentence.startswith("Possibly spurious: potassium 6.6 mmol/L")
        assert "repeat it urgently" in finding.sentence
        assert "If it is confirmed: consider holding the next dose" in finding.sentence
        assert "severe" not in said_of(finding)
        assert finding.urgency is Urgency.PROMPT
    assert interactions(answer) == {}


def test_6_inr_9_2_with_a_mechanical_valve() -> None:
    """Hold, the oral vitamin K band as information, and the valve before any dose of it is chosen."""
    found = suggestions(
        reviewed(
            result("INR", "9.2"), problem("Mechanical heart valve"), order("Warfarin 3 mg tablets", "B01AA03")
        )
    )["warfarin"]
    assert found.action == "hold"
    assert "1 to 5 mg by mouth" in said_of(found)
    first = found.cautions[0]
    assert "mechanical heart valve" in first
    assert "haematology or cardiology" in first
    assert any("mechanical valve ask haematology and cardiology before a dose" in c for c in found.cautions)


def test_7_inr_6_0() -> None:
    """Hold one or two doses and find the cause."""
    found = suggestions(reviewed(result("INR", "6.0"), order("Warfarin 3 mg tablets", "B01AA03")))["warfarin"]
    assert found.action == "hold"
    assert "one or two doses" in said_of(found)
    assert "look for the cause" in said_of(found)
    assert "reduce" in found.also


def test_8_melaena_with_a_stent() -> None:
    """NSAID: hold; aspirin: not to be held; clopidogrel goes on until cardiology has spoken."""
    answer = reviewed(
        result("Hb", "128", "2026-02-28T04:00:00+04:00"),
        result("Hb", "104"),
        problem("Melaena", since="2026-03-01"),
        problem("Coronary stent", since="2025-10-01"),
        order("Aspirin 75 mg tablets", "B01AC06"),
        order("Clopidogrel 75 mg tablets", "B01AC04"),
        order("Diclofenac 50 mg tablets", "M01AB05"),
    )
    found = suggestions(answer)
    assert {name: f.action for name, f in found.items()} == {
        "aspirin": "continue",
        "clopidogrel": "continue",
        "diclofenac": "hold",
    }
    assert "until cardiology has spoken" in said_of(found["clopidogrel"])
    assert "stent" in found["aspirin"].do_not_stop
    assert (
        "nobody is left without an antiplatelet"
        in interactions(answer)["antiplatelet-stent-bleeding"].sentence
    )


def test_9_glucose_3_1_in_kidney_injury() -> None:
    """Sulfonylurea: hold; insulin: review the dose, the next due one is not omitted."""
    found = suggestions(
        reviewed(
            *injury(1),
            result("glucose", "3.1"),
            order("Gliclazide 80 mg tablets", "A10BB09"),
            order("Insulin glargine 100 units/mL", "A10AE04"),
        )
    )
    assert found["gliclazide"].action == "hold"
    assert found["insulin"].action == "review"
    assert "it is not left out" in found["insulin"].do_not_stop


def test_10_breathing_8_in_kidney_injury() -> None:
    """Opioid: hold the next dose, and less of it; benzodiazepine and gabapentinoid by its old code: hold."""
    answer = reviewed(
        *injury(1),
        result("RR", "8"),
        alertness("voice"),
        order("Morphine 10 mg tablets", "N02AA01"),
        order("Diazepam 5 mg tablets", "N05BA01"),
        order("Capsules of the family doctor", "N03AX16"),
    )
    found = suggestions(answer)
    assert {name: f.action for name, f in found.items()} == {
        "morphine": "hold",
        "diazepam": "hold",
        "capsules": "hold",
    }
    assert "reduce" in found["morphine"].also
    assert "withdrawal seizures" in found["diazepam"].do_not_stop
    assert found["capsules"].ingredients == ("pregabalin",)
    assert {f.urgency for f in found.values()} == {Urgency.EMERGENCY}
    assert "opioid-sedative-drowsy" in interactions(answer)


def test_11_pulse_38() -> None:
    """Rate-limiting calcium blocker, beta-blocker and digoxin: hold all; digoxin level."""
    answer = reviewed(
        result("HR", "38"),
        result("SBP", "92"),
        order("Diltiazem 60 mg tablets", "C08DB01"),
        order("Bisoprolol 5 mg tablets", "C07AB07"),
        order("Digoxin 125 micrograms tablets", "C01AA05"),
    )
    found = suggestions(answer)
    assert {f.action for f in found.values()} == {"hold"}
    assert len(found) == 3
    assert "measure level" in found["digoxin"].also
    assert "angina" in found["bisoprolol"].do_not_stop
    assert "beta-blocker-rate-limiting" in interactions(answer)


def test_12_lactate_4_4_on_one_product_of_two() -> None:
    """Metformin and SGLT2 inhibitor: both reasons for the one order, with ketones."""
    answer = reviewed(
        result("lactate", "4.4"),
        result("pH", "7.28"),
        order("Metformin 1 g / empagliflozin 5 mg tablets", "A10BD20"),
    )
    (found,) = suggestions(answer).values()
    assert found.action == "hold"
    assert {reason.rule for reason in found.reasons} == {
        "lactate-metformin",
        "acidosis-metformin",
        "lactate-sglt2",
    }
    assert any("ketones" in each for each in found.monitor)
    assert "metformin-sglt2-one-product" in interactions(answer)


def test_13_sepsis_on_a_steroid() -> None:
    """High risk of sepsis, prednisolone for months: continue and more, never hold."""
    found = suggestions(
        reviewed(
            *full_set(
                respiration_rate="26 /min", spo2="91 %", pulse="120 /min", systolic_pressure="105 mm[Hg]"
            ),
            problem("Pneumonia", since="2026-02-28"),
            order("Prednisolone 5 mg tablets", "H02AB06", authoredOn="2026-01-02T09:00:00+04:00"),
        )
    )["prednisolone"]
    assert found.action == "continue"
    assert "doubled to at least 10 mg" in said_of(found)
    assert "adrenal crisis" in found.do_not_stop


def test_14_gel_on_the_knee() -> None:
    """A topical NSAID in stage 3: nothing is held."""
    answer = reviewed(*injury(3), order("Ibuprofen 5 % gel", "M02AA13"))
    assert about_medicines(answer) == []
    assert answer.reviews[0].medicines_reviewed == 1


def test_15_already_on_hold() -> None:
    """On hold in stage 1: a question about the restart, no second hold."""
    answer = reviewed(*injury(1), order("Ramipril 5 mg capsules", "C09AA05", status="on-hold"))
    (found,) = suggestions(answer).values()
    assert found.kind is Kind.MEDICINE_RESTART
    assert found.action == "consider restarting"
    assert "already on hold" in found.sentence
    assert "Is there a plan for its restart?" in found.sentence
    assert found.hold_stands
    assert found.restart is not None


def test_16_nobody_knows_what_it_is() -> None:
    """A drug in free text that nobody knows is listed as not reviewed."""
    answer = reviewed(*injury(1), order("Unknown X"))
    (found,) = suggestions(answer).values()
    assert (found.kind, found.action) == (Kind.MEDICINE_NOT_REVIEWED, "not reviewed")
    assert found.urgency is Urgency.ROUTINE
    assert "Unknown X" in found.sentence
    assert answer.reviews[0].medicines_not_recognised == 1


def test_17_tacrolimus() -> None:
    """Stage 2 on tacrolimus: a level and the transplant team, no hold."""
    found = suggestions(reviewed(*injury(2), order("Tacrolimus 1 mg capsules", "L04AD02")))["tacrolimus"]
    assert found.action == "measure level"
    assert "transplant" in said_of(found)
    assert all(reason.action != "hold" for reason in found.reasons)


def test_18_levodopa_on_time() -> None:
    """Whatever is the matter: continue, each dose at its time."""
    for trigger in (
        injury(1),
        [result("SBP", "88")],
        [result("glucose", "3.2")],
        [result("INR", "6.0")],
        [result("K", "6.1")],
        [result("HR", "36")],
    ):
        found = suggestions(reviewed(*trigger, order("Co-beneldopa 25/100", "N04BA02")))["co-beneldopa"]
        assert found.action == "continue", trigger
        assert "within 30 minutes" in said_of(found)


def test_everything_said_has_its_time_and_source() -> None:
    """Each names its trigger with value and time, its rule with source and mark, and its order."""
    answer = reviewed(
        *injury(2), result("K", "6.2"), result("SBP", "96"), order("Ramipril 5 mg capsules", "C09AA05")
    )
    found = suggestions(answer)["ramipril"]
    assert {m.key for m in found.measures} >= {"creatinine", "potassium", "systolic-pressure"}
    assert all(m.at is not None and m.origin for m in found.measures if m.key in ("potassium", "creatinine"))
    assert "Observation/K-2026-03-01T100000-0400" in found.evidence
    assert "MedicationRequest/ramipril" in found.evidence
    assert all(r.source.citation and r.source.mark and "10:00 on 1 March" in r.trigger for r in found.reasons)
    assert AT.startswith("2026-03-01T10:00")
