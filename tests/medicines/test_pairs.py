"""Named pairs and duplicates, each through the real door.

Expected: the publication that each row of `pairs.toml` names. Which urgency a pair has, that bridging
is calm below an INR of 2.0, and that potassium below 4.0 calms a supplement are our choice; what a row
marks as common practice has no source.
"""

from datetime import datetime

import pytest

from tests.medicines.paired import EXAMPLES, P, R, U, found, line
from tests.medicines.wards import dosed, injury, interactions, order, problem, result, reviewed, suggestions
from tests.records import (
    AT,
    Json,
    answer_of,
    earlier,
    flag,
    given,
    observation,
    patient,
    quantity,
    stay,
    taken,
)
from weatherglass.handover.told import rank_of
from weatherglass.model.findings import Urgency


class TestHowUrgent:
    @pytest.mark.parametrize(("inr", "urgency"), [("1.9", R), ("2.0", U), ("3.0", U)])
    def test_bridging_by_the_inr(self, inr: str, urgency: Urgency) -> None:
        chart = found("Warfarin 3 mg", "Enoxaparin 80 mg injection", beside=(result("INR", inr),))
        assert chart["warfarin-with-heparin"].urgency is urgency

    @pytest.mark.parametrize(
        ("one", "other"),
        [
            ("Butrans 10 micrograms/hour patch", "Morphine 10 mg"),
            ("Levemir 10 units", "Levemir 14 units"),
            ("Lantus 10 units", "NovoRapid 4 units"),
            ("Zomorph 10 mg", "Oramorph 5 mg"),
            ("Olanzapine 10 mg tablets", "Lorazepam 2 mg intramuscular"),
            ("Ciprofloxacin 400 mg intravenous infusion", "Ferrous fumarate 210 mg"),
            ("Vancomycin 1 g intravenous infusion", "Vancomycin 125 mg capsules"),
            ("Atorvastatin 40 mg", "Fucidin 2% cream"),
            ("Prednisolone 30 mg", "Hydrocortisone 10 mg tablets"),
            ("Heparin 5000 units", "Enoxaparin 20 mg (dialysis circuit)"),
        ],
    )
    def test_what_is_meant_together_is_silent(self, one: str, other: str) -> None:
        assert not found(one, other)

    @pytest.mark.parametrize(
        ("one", "other"),
        [
            ("MST 30 mg", "Oxycodone MR 20 mg"),
            ("Morphine sulfate modified-release 30 mg", "Longtec 20 mg"),
            ("Tramadol SR 100 mg", "Zomorph 10 mg"),
        ],
    )
    def test_a_long_acting_opioid_is_known_by_its_form(self, one: str, other: str) -> None:
        """Common practice, no source: one long-acting opioid at a time, by brand or by its form."""
        assert "two-long-acting-opioids" in found(one, other)

    @pytest.mark.parametrize(("pulse", "urgency"), [("50", R), ("49", P), ("40", P)])
    def test_digoxin_with_verapamil_by_the_pulse(self, pulse: str, urgency: Urgency) -> None:
        chart = found("Digoxin 250 micrograms", "Verapamil 80 mg", beside=(result("HR", pulse),))
        assert chart["digoxin-with-inhibitor"].urgency is urgency

    @pytest.mark.parametrize(
        ("dose", "at", "key"),
        [
            ("stat", "12 h", "after-a-direct-anticoagulant"),
            ("stat", "11 h", "two-anticoagulants-named"),
            ("twice a day", "12 h", "two-anticoagulants-named"),
        ],
    )
    def test_an_injection_of_once_has_no_next_dose_to_hold(self, dose: str, at: str, key: str) -> None:
        """Labels: a direct anticoagulant begins when the next injection would have been due."""
        once = {**line(1, f"Enoxaparin 80 mg subcutaneous {dose}"), "authoredOn": earlier("22 h")}
        chart = found(
            once, line(2, "Apixaban 5 mg twice a day"), beside=(given("Enoxaparin 80 mg", earlier(at)),)
        )
        assert {*chart} == {key}

    def test_tacrolimus_in_two_forms_is_said_once(self) -> None:
        assert {*found("Advagraf 4 mg once a day", "Adoport 2 mg twice a day")} == {"tacrolimus-of-two-forms"}

    def test_a_lack_of_potassium_is_not_answered_with_less(self) -> None:
        """Nothing is pushed that a low potassium forbids."""
        for potassium in ("2.3", "3.4"):
            chart = found("Sando-K", "Spironolactone 25 mg", beside=(result("K", potassium),))
            assert "potassium-with-keeper" not in chart

    @pytest.mark.parametrize(("text", "urgency"), [("Verapamil 80 mg tablets", P), ("Verapamil 5 mg IV", U)])
    def test_verapamil_into_a_vein_beside_a_beta_blocker(self, text: str, urgency: Urgency) -> None:
        assert found("Bisoprolol 5 mg", text)["beta-blocker-with-verapamil"].urgency is urgency

    @pytest.mark.parametrize(
        ("potassium", "urgency"), [("3.5", R), ("3.9", R), ("4.0", P), ("5.4", P), ("5.5", U)]
    )
    def test_a_supplement_by_the_potassium(self, potassium: str, urgency: Urgency) -> None:
        chart = found("Sando-K", "Spironolactone 25 mg", beside=(result("K", potassium),))
        assert chart["potassium-with-keeper"].urgency is urgency

    def test_a_supplement_is_asked_about_from_the_potassium_that_needs_it_no_more(self) -> None:
        """Beside a low potassium both were meant: nothing was due then."""
        before, after = earlier("26 h"), earlier("20 h")
        results = (result("K", "3.1", before), result("K", "4.4", after), result("K", "4.8"))
        chart = found("Sando-K", "Spironolactone 25 mg", beside=results)
        assert chart["potassium-with-keeper"].asked_since == datetime.fromisoformat(after)
        chart = found("Sando-K", "Spironolactone 25 mg", beside=(result("K", "3.9"),))
        assert chart["potassium-with-keeper"].asked_since is None

    @pytest.mark.parametrize(("days", "is_said"), [("6.9 d", False), ("7.1 d", True)])
    def test_no_potassium_of_a_week(self, days: str, is_said: bool) -> None:
        chart = found("Spironolactone 25 mg", "Ramipril 5 mg", beside=(result("K", "4.5", earlier(days)),))
        assert ("mra-with-raas" in chart) is is_said

    def test_an_inr_since_both_began_calms(self) -> None:
        pair = ("Warfarin 3 mg", "Clarithromycin 500 mg")
        before = found(*pair, beside=(result("INR", "2.4", "2026-02-24T09:00:00+04:00"),))
        since = found(*pair, beside=(result("INR", "2.4", AT),))
        assert before["warfarin-with-antimicrobial"].urgency is P
        assert since["warfarin-with-antimicrobial"].urgency is R

    def test_an_inr_that_is_due_later_presses_nobody_yet(self) -> None:
        """Both for a day, and the INR in order: it said "routine since" of a day to come."""
        late = line(1, "Metronidazole 400 mg", authoredOn=earlier("1 d"))
        told = found("Warfarin 3 mg", late, beside=(result("INR", "2.4", AT),))["warfarin-with-antimicrobial"]
        assert (told.urgency, told.asked_since) == (R, None)

    @pytest.mark.parametrize(
        ("amount", "often", "is_said"),
        [
            ("12.5", (1, 1, "d"), False),
            ("25", (1, 2, "d"), False),
            ("25", (1, 1, "d"), True),
            ("50", (1, 2, "d"), True),
        ],
    )
    def test_lamotrigine_on_valproate_by_its_dose(
        self, amount: str, often: tuple[int, int, str], is_said: bool
    ) -> None:
        """Label of lamotrigine, 4.2, from memory: 25 mg every other day for two weeks."""
        chart = found(dosed("Lamotrigine", amount, "mg", often), line(1, "Epilim 500 mg"))
        assert ("lamotrigine-begun-on-valproate" in chart) is is_said

    @pytest.mark.parametrize(
        ("began", "came", "is_said"),
        [
            ("55 d", None, True),
            ("57 d", None, False),
            ("48 h", "71 h", False),
            ("48 h", "73 h", True),
            ("96 h", "73 h", False),
            ("98 h", "73 h", True),
        ],
    )
    def test_lamotrigine_that_is_new(self, began: str, came: str | None, is_said: bool) -> None:
        """Eight weeks; what was ordered within a day of coming in may have been taken before: our choice."""
        beside = (stay(period={"start": earlier(came)}),) if came else ()
        ordered = line(0, "Lamotrigine 50 mg", authoredOn=earlier(began))
        chart = found(ordered, "Epilim 500 mg", beside=beside)
        assert ("lamotrigine-begun-on-valproate" in chart) is is_said

    @pytest.mark.parametrize(
        ("words", "is_said"),
        [("25 mg every other day", False), ("25 mg on alternate days", False), ("25 mg daily", True)],
    )
    def test_lamotrigine_every_other_day_in_words(self, words: str, is_said: bool) -> None:
        ordered = line(0, "Lamotrigine", dosageInstruction=[{"text": words}])
        assert ("lamotrigine-begun-on-valproate" in found(ordered, "Epilim 500 mg")) is is_said

    def test_what_is_only_reported_is_a_step_less(self) -> None:
        home = taken("Apixaban 5 mg", id="home")
        chart = found(home, line(1, "Enoxaparin 40 mg injection"))
        assert chart["two-anticoagulants-named"].urgency is P
        assert "reported as taken" in chart["two-anticoagulants-named"].sentence

    def test_liver_disease_makes_colchicine_worse(self) -> None:
        chart = found(*EXAMPLES["colchicine-with-inhibitor"][:2], beside=(problem("Liver cirrhosis"),))
        assert chart["colchicine-with-inhibitor"].urgency is U

    def test_two_blockers_in_heart_failure_are_calm(self) -> None:
        chart = found("Ramipril 5 mg", "Losartan 50 mg", beside=(problem("Heart failure"),))
        assert chart["ace-inhibitor-with-arb"].urgency is R

    @pytest.mark.parametrize(("rate", "is_said"), [("44", True), ("45", False)])
    def test_colchicine_with_a_statin_asks_for_poor_kidneys(self, rate: str, is_said: bool) -> None:
        chart = found("Colchicine 500 micrograms", "Atorvastatin 20 mg", beside=(result("eGFR", rate),))
        assert ("colchicine-with-statin" in chart) is is_said

    @pytest.mark.parametrize("beside", [(), (result("K", "5.7"),)])
    def test_a_lower_dose_is_no_answer_where_another_is_asked_for(self, beside: tuple[Json, ...]) -> None:
        """The pair asks for another antibacterial (SPS, Medsafe): no line says lower or review beside it."""
        injured = (result("creatinine", "80", earlier("2 d")), result("creatinine", "170"))
        pair = (line(1, "Trimethoprim 200 mg"), line(2, "Methotrexate 15 mg"))
        answer = reviewed(*pair, *injured, *beside)
        assert "methotrexate-with-trimethoprim" in interactions(answer)
        assert not [one for one in suggestions(answer).values() if "Trimethoprim" in one.medicine]
        alone = suggestions(reviewed(pair[0], *injured, *beside))
        assert [one.action for one in alone.values()] == ["reduce"]

    def test_in_recorded_last_days_nothing_is_above_routine(self) -> None:
        dying = flag("End of life care: last days of life")
        chart = found("Midazolam 10 mg", "Haloperidol 1 mg", "Methadone 5 mg", beside=(dying,))
        assert chart
        assert all(one.urgency is R for one in chart.values())


@pytest.mark.parametrize(
    ("dose", "kilograms", "urgency"),
    [
        ("40", None, R),
        ("60", None, U),
        ("60", "90.9", U),
        ("60", "91", R),
        ("80", "99.9", U),
        ("80", "100", R),
        ("81", "100", U),
    ],
)
def test_an_anticoagulant_beside_an_epidural_by_its_dose(
    dose: str, kilograms: str | None, urgency: Urgency
) -> None:
    """Label of enoxaparin, boxed warning; that prevention is routine, as after operations, is our choice.

    Common practice, no source: 60 mg a day prevents from 91 kg, 40 mg twice a day from 100 kg.
    """
    epidural = line(1, "Levobupivacaine 0.1%", dosageInstruction=[{"route": {"text": "epidural"}}])
    weight = (observation("kg", "29463-7", valueQuantity=quantity(kilograms, "kg")),) if kilograms else ()
    chart = found({**dosed("Enoxaparin", dose, "mg"), "id": "o0"}, epidural, beside=weight)
    assert chart["epidural-with-anticoagulant"].urgency is urgency


@pytest.mark.parametrize(("born", "is_said"), [("2026-02-10", True), ("2026-01-20", False)])
def test_ceftriaxone_with_calcium_in_a_newborn(born: str, is_said: bool) -> None:
    """Label: contraindicated up to 28 days in who needs calcium by vein; and no dose of it is pushed."""
    chart = (line(0, "Ceftriaxone 200 mg intravenous"), line(1, "Calcium gluconate 10% infusion"))
    answer = answer_of(patient(born), result("Na", "140"), problem("Neonatal sepsis"), *chart)
    assert ("ceftriaxone-with-calcium-in-a-newborn" in interactions(answer)) is is_said
    assert ("o0" in suggestions(answer)) is not is_said


@pytest.mark.parametrize(("born", "is_said"), [("2026-02-10", True), ("1980-02-10", False)])
def test_ceftriaxone_in_a_jaundiced_newborn(born: str, is_said: bool) -> None:
    """Label: it drives bilirubin from albumin; in an adult with jaundice it is not questioned for that."""
    found = suggestions(answer_of(patient(born), problem("Jaundice"), line(0, "Ceftriaxone 200 mg"))).get(
        "o0"
    )
    rules = {reason.rule for reason in found.reasons} if found is not None else set()
    assert ("newborn-ceftriaxone" in rules) is is_said


def test_of_equals_the_pair_that_harms_by_itself_leads() -> None:
    """What the kidneys made urgent comes after what kills with any: colchicine beside a macrolide."""
    injured = (result("creatinine", "80", earlier("2 d")), result("creatinine", "170"))
    chart = found("Colchicine 500 micrograms", "Clarithromycin 500 mg", "Verapamil 80 mg", beside=injured)
    fatal, raised = chart["colchicine-with-strong-inhibitor"], chart["colchicine-with-inhibitor"]
    assert fatal.urgency is raised.urgency is U
    assert (fatal.raised, raised.raised) == (False, True)
    assert rank_of(fatal) < rank_of(raised)


class TestInrThatRoseTooFar:
    """Above 3.0 it is not settled, and from 5 (British guideline, as restated) urgent: our choice."""

    @pytest.mark.parametrize(("inr", "urgency"), [("3.0", R), ("3.1", P), ("4.9", P), ("5.0", U), ("9.2", U)])
    def test_beside_an_antimicrobial(self, inr: str, urgency: Urgency) -> None:
        started = line(1, "Clarithromycin 500 mg", authoredOn=earlier("48 h"))
        warfarin = line(0, "Warfarin 3 mg", authoredOn=earlier("400 h"))
        measured = result("INR", inr, at=earlier("2 h"))
        pair = found(warfarin, started, beside=(measured,))["warfarin-with-antimicrobial"]
        assert pair.urgency is urgency
        if urgency is not R:
            assert pair.asked_since == datetime.fromisoformat(earlier("2 h"))


@pytest.mark.parametrize(("creatinine", "urgency"), [("70", P), ("150", U)])
def test_lithium_with_an_anti_inflammatory_waits_for_no_level_of_next_week(
    creatinine: str, urgency: Urgency
) -> None:
    """Common practice: in kidney injury the level is taken now."""
    beside = (result("creatinine", "70", earlier("36 h")), result("creatinine", creatinine))
    one = found("Priadel 400 mg", "Ibuprofen 400 mg", beside=beside)["lithium-with-nsaid"]
    assert one.urgency is urgency
    assert "a level now with kidney injury" in one.sentence


@pytest.mark.parametrize(
    ("measured", "urgency"),
    [
        ([], R),
        ([("K", "3.4")], P),
        ([("QTc", "479")], R),
        ([("QTc", "480")], P),
    ],
)
def test_two_that_lengthen_qt_are_no_routine_beside_what_adds_to_it(
    measured: list[tuple[str, str]], urgency: Urgency
) -> None:
    """MHRA December 2020 (potassium); from a QTc of 480 ms: our choice."""
    beside = tuple(
        observation("qtc", "8636-3", at=earlier("2 h"), valueQuantity=quantity(value, "ms"))
        if name == "QTc"
        else result(name, value, at=earlier("2 h"))
        for name, value in measured
    )
    pair = found(line(0, "Sotalol 80 mg"), line(1, "Levofloxacin 500 mg"), beside=beside)["two-qt"]
    assert pair.urgency is urgency


def test_nobody_asks_for_stomach_protection_in_a_bleed() -> None:
    """Ours: the NSAID is held then, and what is given for the bleed is not a matter of the chart review."""
    lines = (line(0, "Naproxen 500 mg"), line(1, "Dexamethasone 8 mg"), line(2, "Sertraline 50 mg"))
    asked = {"nsaid-with-steroid", "antidepressant-with-anticoagulant"}
    assert asked <= set(found(*lines))
    assert not asked & set(found(*lines, beside=(problem("Melaena", since=earlier("2 h")),)))


@pytest.mark.parametrize(
    ("known", "text", "is_said"),
    [
        ("2026-02-21", "Fondaparinux 2.5 mg injection", False),
        ("2026-02-20", "Fondaparinux 2.5 mg injection", True),
        ("2026-02-28", "Enoxaparin 80 mg injection", False),
        ("2026-02-28", "Apixaban 5 mg", True),
        (None, "Fondaparinux 2.5 mg injection", True),
    ],
)
def test_both_are_the_treatment_of_a_fresh_coronary_syndrome(
    known: str | None, text: str, *, is_said: bool
) -> None:
    """Ours: ticagrelor beside an injected anticoagulant in its first 8 days."""
    told = [problem("NSTEMI", since=f"{known}T10:00:00+04:00")] if known else []
    chart = [{**order("Ticagrelor 90 mg"), "id": "a"}, {**order(text), "id": "b"}]
    keys = interactions(reviewed(result("Na", "140"), *told, *chart))
    assert ("strong-antiplatelet-with-anticoagulant" in keys) is is_said
    assert not {key for key in keys if key.startswith("antiplatelet-with")}  # It is said once.


@pytest.mark.parametrize(
    ("before", "now", "urgency"), [("2.5", "3.0", R), ("2.6", "3.1", P), ("2.7", "3.1", R), (None, "3.9", R)]
)
def test_warfarin_and_amiodarone_by_an_inr_that_climbs(
    before: str | None, now: str, urgency: Urgency
) -> None:
    """Ours: above 3.0, and 0.5 above an INR of the two weeks before."""
    inrs = (result("INR", now), *((result("INR", before, earlier("3 d")),) if before else ()))
    chart = found("Warfarin 3 mg", "Amiodarone 200 mg", beside=inrs)
    assert chart["warfarin-with-amiodarone"].urgency is urgency


@pytest.mark.parametrize(("began", "urgency"), [("91 d", P), ("93 d", R)])
def test_a_fresh_clot_is_not_treated_beside_an_inducer(began: str, urgency: Urgency) -> None:
    """Label of apixaban, 4.5, from memory; three months are our choice."""
    clot = problem("Deep vein thrombosis", since=earlier(began))
    chart = found("Apixaban 5 mg", "Carbamazepine 200 mg", beside=(clot,))
    assert chart["doac-with-inducer"].urgency is urgency


def test_nobody_asks_for_stomach_protection_in_a_child() -> None:
    """Ours: a few days of both for an attack of asthma or after an operation are usual in a child."""
    chart = [{**order(text), "id": str(at)} for at, text in enumerate(("Ibuprofen", "Prednisolone"))]
    young = patient("2021-03-01")
    told = interactions(answer_of(young, result("Na", "140"), *chart))
    assert "nsaid-with-steroid" not in told


@pytest.mark.parametrize(("rate", "urgency"), [("12", R), ("11", P)])
def test_an_opioid_and_a_gabapentinoid_in_slow_breathing(rate: str, urgency: Urgency) -> None:
    """Ours: at 11 breaths, awake or not."""
    chart = [{**order("Methadone 1 mg/mL"), "id": "a"}, {**order("Pregabalin 300 mg"), "id": "b"}]
    told = interactions(reviewed(result("RR", rate), *chart))
    assert told["opioid-with-gabapentinoid"].urgency is urgency


def test_on_long_term_dialysis_no_kidney_is_spared() -> None:
    """Vancomycin with gentamicin treats its peritonitis: "creatinine daily" helps nobody."""
    both = "Vancomycin 1 g intravenous", "Gentamicin 80 mg intravenous"
    assert "aminoglycoside-with-nephrotoxin" in found(*both)
    assert "aminoglycoside-with-nephrotoxin" not in found(*both, beside=(problem("Haemodialysis"),))


@pytest.mark.parametrize(("injured", "is_said"), [(injury(2), False), ([result("Na", "140")], True)])
def test_a_routine_pair_that_a_hold_ends_is_not_told(injured: list[Json], is_said: bool) -> None:
    """Ours: "or another analgesic" beside "consider holding naproxen" said one thing twice."""
    chart = found("Naproxen 250 mg", "Dexamethasone 8 mg", beside=tuple(injured))
    assert ("nsaid-with-steroid" in chart) is is_said
