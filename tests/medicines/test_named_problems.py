"""Problems that forbid a medicine, through the real door.

Expected: the publication that each row of `named_rules.toml` names; rows marked "common practice" have no
source. How soon each is asked, and that what must not end suddenly is reviewed and not held, is our choice.
"""

import pytest

from tests.medicines.named import PROBLEMS, P, U, said
from tests.medicines.wards import injury, interactions, order, problem, result, reviewed, suggestions
from tests.records import Json, earlier, full_set, given, observation, quantity
from weatherglass.knowledge.medicines.named_rules import BY_PROBLEM, NAMED_RULES
from weatherglass.model.findings import Urgency

#: What is given instead, or acts only where it is put.
NO_HARM = [
    ("Dementia with Lewy bodies", "Quetiapine 25 mg"),
    ("Dementia", "Haloperidol 0.5 mg"),
    ("Urinary tract infection", "Nitrofurantoin 100 mg"),
    ("Hydronephrosis", "Oxybutynin 5 mg"),
    ("Constipation", "Senna 15 mg"),
    ("Nappy rash", "Lamotrigine 50 mg"),
    # NHS Specialist Pharmacy Service: dihydrocodeine and tramadol can be used.
    ("Breast-feeding mother", "Tramadol 50 mg"),
    ("Breastfeeding", "Dihydrocodeine 30 mg"),
    ("Pressure ulcer", "Naproxen 500 mg"),
    ("Stress ulcer prophylaxis", "Naproxen 500 mg"),
    ("Peptic ulcer disease", "Clopidogrel 75 mg"),
    ("Peptic ulcer disease", "Ibuprofen 5% gel"),
    ("Primary open-angle glaucoma", "Oxybutynin 5 mg"),
    ("Angle-closure glaucoma", "Sertraline 50 mg"),
    ("Malignant hyperthermia susceptibility", "Propofol 1%"),
    ("Congenital long QT syndrome", "Nadolol 80 mg"),
    ("Chickenpox contact", "Ibuprofen 200 mg"),
    ("Rash", "Amlodipine 5 mg"),
    ("C. difficile infection", "Fidaxomicin 200 mg"),
    ("C. difficile infection", "Vancomycin 125 mg capsules"),
    ("Mild aortic stenosis", "Isosorbide mononitrate 60 mg"),
    ("Angioedema", "Amlodipine 5 mg"),
    ("Severe aortic stenosis", "Amlodipine 5 mg"),
    ("Parkinson's disease", "Domperidone 10 mg"),
    ("Parkinson's disease", "Quetiapine 25 mg"),
    ("Constipation", "Quetiapine 25 mg"),
    ("Breastfeeding", "Morphine 10 mg"),
    ("Parkinson's disease", "Ondansetron 4 mg"),
    ("Myasthenia gravis", "Amoxicillin 500 mg"),
    ("Mechanical aortic valve", "Warfarin 3 mg"),
    ("Asthma", "Bisoprolol 2.5 mg"),
    ("Wolff-Parkinson-White syndrome", "Flecainide 100 mg"),
    ("Porphyria cutanea tarda", "Phenobarbital 60 mg"),
    ("G6PD deficiency", "Amoxicillin 500 mg"),
    ("Normal delivery", "Ergometrine 500 micrograms"),
    ("Dysphagia", "Paracetamol 1 g"),
    ("Dysphagia", "Zomorph 10 mg capsules"),
    ("Dysphagia", "Zoladex LA 10.8 mg implant"),
    ("Pulmonary embolism", "Desogestrel 75 micrograms"),
    ("Ischaemic stroke", "Apixaban 5 mg"),
    ("Pulmonary embolism", "Tranexamic acid 1 g"),
    ("C. difficile infection", "Laxido"),
    ("Transient ischaemic attack", "Apixaban 5 mg"),
    ("Dysphagia", "Leuprorelin prolonged-release injection"),
    ("Heart failure", "Ibuprofen 5% gel"),
    ("Heart failure", "Amlodipine 5 mg"),
    ("Heart failure", "Sodium chloride 0.9% 1 L"),
    ("Fluid overload", "Sodium chloride 0.9% flush 10 mL"),
    ("Fluid overload", "Sodium chloride 0.9% nebules"),
    ("Fluid overload", "Furosemide 240 mg in sodium chloride 0.9% 50 mL"),
    ("Overdose of sertraline", "Flecainide 100 mg"),
    ("Urinary retention", "Tamsulosin 400 micrograms"),
    ("Metabolic encephalopathy", "Furosemide 40 mg"),
    ("Immune thrombocytopenic purpura", "Platelets 1 unit"),
    ("Liver cirrhosis", "Terlipressin 2 mg"),
    ("Catatonia", "Lorazepam 2 mg"),
]


@pytest.mark.parametrize(("begun", "is_asked"), [("56 d", True), ("57 d", False)])
def test_a_rash_counts_in_the_first_weeks_of_a_medicine(begun: str, is_asked: bool) -> None:
    """Label of lamotrigine: eight weeks."""
    found = said(problem("Rash", since=earlier("1 d")), text="Lamotrigine 50 mg", authoredOn=earlier(begun))
    assert (found is not None) is is_asked


class TestProblems:
    @pytest.mark.parametrize(("recorded", "text", "key", "action"), PROBLEMS)
    def test_what_it_forbids(self, recorded: str, text: str, key: str, action: str) -> None:
        rule = next(each.rule for each in NAMED_RULES if each.key == key)
        finding = said(problem(recorded), text=text)
        assert finding is not None
        (reason,) = [each for each in finding.reasons if each.rule == key]
        assert (reason.action, reason.why, reason.source) == (action, rule.reason, rule.sources[0])
        assert "on record" in reason.trigger

    def test_every_problem_is_tried(self) -> None:
        elsewhere = {
            "heart-failure-fluid",
            "overload-fluid-in-shock",
            "terlipressin-breathless",
            "encephalopathy-diuretic",
            "newborn-ceftriaxone",
            "stroke-anticoagulant",
            "clot-tranexamic",
            "c-difficile-laxative",
            "heart-block-slowed",
            "clonus-serotonergic",
            "ulcer-nsaid",
            "narrow-angle-topiramate",
        }
        assert {key for _, _, key, _ in PROBLEMS} | elsewhere == {each.key for each in BY_PROBLEM}

    @pytest.mark.parametrize(
        ("recorded", "signs", "key", "action", "urgency"),
        [
            ("Pulmonary oedema", {"spo2": "88 %"}, "overload-fluid", "hold", U),
            ("Pulmonary oedema", {"systolic_pressure": "84 mm[Hg]"}, "overload-fluid-in-shock", "review", U),
            ("Heart failure", {"spo2": "88 %"}, "heart-failure-fluid", "review", P),
            ("Heart failure", {"spo2": "97 %"}, None, "", None),
            ("Asthma", {"spo2": "88 %"}, None, "", None),
        ],
    )
    def test_fluid_where_the_heart_cannot_carry_it(
        self, recorded: str, signs: dict[str, str], key: str | None, action: str, urgency: Urgency | None
    ) -> None:
        """Common practice, no source: it stops in overload, and in shock a senior decides."""
        finding = said(problem(recorded), *full_set(**signs), text="Sodium chloride 0.9% 1 L")
        found = {each.rule: each.action for each in finding.reasons} if finding is not None else {}
        assert found == ({key: action} if key is not None else {})
        if finding is not None:
            assert finding.urgency is urgency

    @pytest.mark.parametrize(("saturation", "urgency"), [("89 %", U), ("97 %", None)])
    def test_terlipressin_where_breathing_fails(self, saturation: str, urgency: Urgency | None) -> None:
        """MHRA, March 2023: respiratory failure in hepatorenal syndrome; beside varices too is our choice."""
        finding = said(problem("Liver cirrhosis"), *full_set(spo2=saturation), text="Terlipressin 2 mg")
        assert ((finding.action, finding.urgency) if finding is not None else None) == (
            ("review", urgency) if urgency is not None else None
        )

    @pytest.mark.parametrize(
        ("temperature", "text", "is_said"),
        [
            ("39.0 Cel", "Fentanyl 50 micrograms/hour patch", True),
            ("38.9 Cel", "Fentanyl 50 micrograms/hour patch", False),
            ("39.4 Cel", "Buprenorphine 20 micrograms/hour patch", True),
            ("39.4 Cel", "Oxycodone 10 mg", False),
        ],
    )
    def test_a_patch_in_fever(self, temperature: str, text: str, is_said: bool) -> None:
        """Label 4.4 (secondary), MHRA 2008: heat makes a patch give more. From 39.0 on is our choice."""
        finding = said(*full_set(temperature=temperature), text=text)
        rules = {each.rule for each in finding.reasons} if finding is not None else set()
        assert ("fever-opioid-patch" in rules) is is_said

    @pytest.mark.parametrize(
        ("recorded", "text", "began", "action"),
        [
            ("Ischaemic stroke", "Apixaban 5 mg", "4 d", "review"),
            ("Ischaemic stroke", "Apixaban 5 mg", "5 d", None),
            ("Ischaemic stroke", "Dalteparin 5000 units once daily", "1 d", None),
            ("Transient ischaemic attack", "Apixaban 5 mg", "1 d", None),
            ("C. difficile infection", "Laxido", "28 d", "hold"),
            ("C. difficile infection", "Laxido", "29 d", None),
            ("Pulmonary embolism", "Tranexamic acid 1 g", "92 d", "hold"),
            ("Pulmonary embolism", "Tranexamic acid 1 g", "93 d", None),
        ],
    )
    def test_what_is_known_to_be_fresh(
        self, recorded: str, text: str, began: str, action: str | None
    ) -> None:
        """Common practice, no source; the days are our choice. One without a date may be of years ago."""
        finding = said(problem(recorded, since=earlier(began)), text=text)
        assert (finding.action if finding is not None else None) == action
        if action is not None:
            draft = said(problem(recorded, since=earlier(began)), text=text, status="draft")
            assert draft is not None
            assert draft.action == "avoid"

    @pytest.mark.parametrize(
        ("mind", "rate", "text", "is_said"),
        [
            ("voice", "29", "Morphine 10 mg", True),
            ("new-confusion", "29", "Pregabalin 75 mg", True),
            ("voice", "30", "Morphine 10 mg", False),
            ("alert", "29", "Morphine 10 mg", False),
            ("voice", "29", "Fentanyl 50 micrograms/hour patch", False),
        ],
    )
    def test_what_these_kidneys_do_not_clear_waits_for_a_clear_mind(
        self, mind: str, rate: str, text: str, is_said: bool
    ) -> None:
        """NHS Specialist Pharmacy Service, opioids in renal impairment; held and urgent is our choice."""
        kidneys = result("eGFR", rate)
        finding = said(kidneys, *full_set(consciousness=mind), text=text)
        rules = {each.rule for each in finding.reasons} if finding is not None else set()
        assert ("drowsy-and-not-cleared" in rules) is is_said
        if is_said and finding is not None:
            assert (finding.action, finding.urgency) == ("hold", U)

    @pytest.mark.parametrize(
        ("systolic", "urgency"), [("98 mm[Hg]", P), ("84 mm[Hg]", U), ("124 mm[Hg]", None)]
    )
    def test_nimodipine_is_split_before_it_is_held(self, systolic: str, urgency: Urgency | None) -> None:
        """Common practice, no source: it was held at 98 as an antihypertensive."""
        finding = said(*full_set(systolic_pressure=systolic), text="Nimodipine 60 mg")
        assert ((finding.action, finding.urgency) if finding is not None else None) == (
            ("review", urgency) if urgency is not None else None
        )

    @pytest.mark.parametrize(("potassium", "is_held"), [("2.9", True), ("3.0", False)])
    def test_a_loop_diuretic_in_liver_disease(self, potassium: str, is_held: bool) -> None:
        """EASL 2018, from memory: furosemide stops below a potassium of 3, any diuretic in encephalopathy."""
        ill = said(problem("Liver cirrhosis"), result("K", potassium), text="Furosemide 40 mg")
        well = said(result("K", potassium), text="Furosemide 40 mg")
        assert (ill is not None and ill.action == "hold") is is_held
        assert well is None or well.action == "review"
        confused = said(problem("Hepatic encephalopathy"), text="Spironolactone 100 mg")
        assert (confused is not None and confused.action == "hold") is True

    @pytest.mark.parametrize(("days", "is_said"), [("6 d", True), ("8 d", False), (None, True)])
    def test_an_overdose_of_old_holds_nothing(self, days: str | None, is_said: bool) -> None:
        """Ours: paracetamol was held for an overdose of last year."""
        old = problem("Paracetamol overdose", since=earlier(days) if days else None)
        assert (said(old, text="Paracetamol 1 g") is not None) is is_said

    @pytest.mark.parametrize(("inr", "is_held"), [("5.0", True), ("8.1", True), ("4.9", False)])
    def test_nothing_more_against_clots_at_a_high_inr(self, inr: str, is_held: bool) -> None:
        """Common practice, no source: bridging ends once the INR is in range, and well above it at once."""
        finding = said(result("INR", inr), text="Enoxaparin 80 mg injection")
        assert ((finding.action, finding.urgency) if finding is not None else None) == (
            ("hold", U) if is_held else None
        )

    @pytest.mark.parametrize(
        ("beside", "action"),
        [
            (result("K", "2.9"), "hold"),
            (result("K", "3.6"), None),
            (result("eGFR", "29"), "hold"),
            (result("eGFR", "31"), None),
        ],
    )
    def test_acetazolamide(self, beside: Json, action: str | None) -> None:
        """Common practice, no source: not with poor kidneys, an acidosis or a low potassium."""
        found = suggestions(reviewed(beside, {**order("Diamox 250 mg"), "id": "o"})).get("o")
        assert (found.action if found is not None else None) == action

    @pytest.mark.parametrize(
        ("enzyme", "text", "urgency"),
        [
            ("1999", "Haloperidol 5 mg", None),
            ("2000", "Haloperidol 5 mg", P),
            ("5000", "Metoclopramide 10 mg", U),
            ("5000", "Quetiapine 25 mg", None),
        ],
    )
    def test_what_blocks_dopamine_with_a_raised_creatine_kinase(
        self, enzyme: str, text: str, urgency: Urgency | None
    ) -> None:
        """Common practice, no source: it may be the neuroleptic malignant syndrome."""
        raised = observation("ck", "2157-6", valueQuantity=quantity(enzyme, "U/L"))
        finding = said(raised, text=text)
        assert ((finding.action, finding.urgency) if finding is not None else None) == (
            ("review", urgency) if urgency is not None else None
        )

    @pytest.mark.parametrize(
        ("calcium", "text", "urgency"),
        [
            ("2.10", "Denosumab 60 mg", None),
            ("2.09", "Denosumab 60 mg", P),
            ("1.89", "Denosumab 60 mg", U),
            ("2.05", "Zoledronic acid 4 mg", P),
            ("1.89", "Calcium carbonate 1.25 g", None),
        ],
    )
    def test_nothing_that_lowers_a_low_calcium(
        self, calcium: str, text: str, urgency: Urgency | None
    ) -> None:
        """Label of denosumab, boxed warning; below 2.1 is our choice."""
        low = observation("ca", "29265-6", valueQuantity=quantity(calcium, "mmol/L"))
        finding = said(low, text=text)
        assert ((finding.action, finding.urgency) if finding is not None else None) == (
            ("hold", urgency) if urgency is not None else None
        )

    def test_a_calcium_that_nothing_adjusts_is_named_as_the_total(self) -> None:
        """Without albumin it is not "adjusted calcium"."""
        low = observation("ca", "2000-8", valueQuantity=quantity("2.05", "mmol/L"))
        finding = said(low, text="Denosumab 60 mg")
        assert finding is not None
        told = repr(finding)
        assert "total calcium 2.05 mmol/L" in told
        assert "adjusted calcium 2.05" not in told

    @pytest.mark.parametrize(
        ("recorded", "text", "action", "urgency"),
        [
            ("Acute ischaemic stroke", "Aspirin 300 mg", "hold", U),
            (None, "Aspirin 300 mg", "review", U),
            ("Massive pulmonary embolism", "Heparin 25,000 units infusion", "review", P),
        ],
    )
    def test_after_thrombolysis_by_what_it_was_for(
        self, recorded: str | None, text: str, action: str, urgency: Urgency
    ) -> None:
        """Common practice, no source: of a stroke nothing against clotting for 24 hours, else it is asked."""
        alteplase = given("Alteplase 60 mg", earlier("8 h"), id="g")
        because = (problem(recorded, since=earlier("10 h")),) if recorded is not None else ()
        finding = said(alteplase, *because, text=text)
        assert finding is not None
        assert (finding.action, finding.urgency) == (action, urgency)

    @pytest.mark.parametrize(("glucose", "is_said"), [("3.9", True), ("4.0", False)])
    def test_a_quinolone_beside_a_low_glucose(self, glucose: str, is_said: bool) -> None:
        """Murad 2009: quinolones are among the medicines most reported with hypoglycaemia."""
        finding = said(result("glucose", glucose), text="Ciprofloxacin 500 mg")
        assert (finding is not None) is is_said

    def test_no_drop_in_an_attack_of_asthma(self) -> None:
        finding = said(problem("Acute asthma exacerbation"), text="Timolol 0.5% eye drops")
        assert finding is not None
        assert (finding.action, finding.urgency) == ("hold", U)

    @pytest.mark.parametrize(("stage", "urgency"), [(1, None), (2, P), (3, P)])
    def test_enoxaparin_in_an_injury(self, stage: int, urgency: Urgency | None) -> None:
        """Label 4.2 and 4.4: below a clearance of 30, as stages 2 and 3 count, less of it."""
        found = suggestions(reviewed(*injury(stage), {**order("Enoxaparin 80 mg injection"), "id": "o"}))["o"]
        is_less = "injury-enoxaparin" in {each.rule for each in found.reasons}
        assert is_less is (urgency is not None)
        assert found.action == ("reduce" if is_less else "review")

    def test_what_runs_in_overload_is_stopped_or_paused(self) -> None:
        running = given("Sodium chloride 0.9% 1000 mL", earlier("1 h"), status="in-progress")
        (found,) = suggestions(reviewed(problem("Acute pulmonary oedema"), running)).values()
        assert "stopping or pausing" in found.sentence

    @pytest.mark.parametrize(("recorded", "text"), NO_HARM)
    def test_what_it_does_not(self, recorded: str, text: str) -> None:
        finding = said(problem(recorded), text=text)
        keys = {each.rule for each in finding.reasons} if finding is not None else set()
        assert not keys & {each.key for each in BY_PROBLEM}

    @pytest.mark.parametrize(("_", "text", "key", "__"), PROBLEMS)
    def test_without_the_problem_it_is_silent(self, _: str, text: str, key: str, __: str) -> None:
        finding = said(text=text)
        assert finding is None or key not in {each.rule for each in finding.reasons}

    @pytest.mark.parametrize(
        ("recorded", "action", "urgency"),
        [
            ("Paracetamol overdose", "hold", U),
            ("Intentional overdose of 40 paracetamol tablets", "hold", U),
            ("Acetaminophen toxicity", "hold", U),
            ("Overdose of sertraline", "review", P),
            ("Paracetamol for pain. Lithium toxicity", "review", P),
        ],
    )
    def test_paracetamol_waits_after_an_overdose_of_it(
        self, recorded: str, action: str, urgency: Urgency
    ) -> None:
        """Common practice, no source; after an overdose of something else its level is asked for first."""
        finding = said(problem(recorded), text="Paracetamol 1 g")
        assert finding is not None
        assert (finding.action, finding.urgency) == (action, urgency)

    def test_before_the_signature_it_is_avoided(self) -> None:
        for recorded, text, _, _ in PROBLEMS:
            finding = said(problem(recorded), text=text, status="draft")
            assert finding is not None
            if text.startswith(("Methotrexate", "Co-careldopa", "Rocuronium", "Suxamethonium")):
                continue
            assert finding.action == "avoid", text

    def test_a_lasting_problem_counts_although_inactive(self) -> None:
        assert said(problem("Parkinson's disease", status="inactive"), text="Metoclopramide 10 mg")

    def test_a_valve_is_urgent_and_never_left_uncovered(self) -> None:
        finding = said(problem("Mechanical mitral valve"), text="Apixaban 5 mg")
        assert finding is not None
        assert finding.urgency is U
        assert "Not left without cover" in finding.reasons[0].why

    def test_said_once_beside_levodopa(self) -> None:
        """The pair is for a chart without the problem on its list."""
        chart = [{**order("Co-careldopa 25/100"), "id": "a"}, {**order("Metoclopramide 10 mg"), "id": "b"}]
        with_problem = reviewed(result("Na", "140"), problem("Parkinson's disease"), *chart)
        without = reviewed(result("Na", "140"), *chart)
        assert "dopamine-with-blocker" not in interactions(with_problem)
        assert "dopamine-with-blocker" in interactions(without)
        assert suggestions(with_problem)["b"].action == "hold"


@pytest.mark.parametrize(
    ("text", "since", "is_held"),
    [
        ("Sertraline 50 mg", earlier("47 h"), True),
        ("Tramadol 50 mg", earlier("2 h"), True),
        ("Linezolid 600 mg", earlier("2 h"), True),
        ("Sertraline 50 mg", earlier("49 h"), False),
        ("Sertraline 50 mg", None, False),
        ("Paracetamol 1 g", earlier("2 h"), False),
    ],
)
def test_what_raises_serotonin_beside_clonus(text: str, since: str | None, is_held: bool) -> None:
    """Hunter criteria 2003, secondary: clonus decides; clonus of a spinal cord is old or has no date."""
    found = said(problem("Clonus", since=since), text=text)
    held = found is not None and any(one.rule == "clonus-serotonergic" for one in found.reasons)
    assert held is is_held
    assert found is None or not held or (found.action, found.urgency) == ("hold", U)
