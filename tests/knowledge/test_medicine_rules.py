"""The drug-chart rules agree with what the publications say, and never give an order.

Expectations name their publication beside them; "from memory" where it was not re-read.
"""

import re
from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal

import pytest

from weatherglass.facts.results.result_levels import PUBLISHED_BANDS
from weatherglass.knowledge.emergencies.acute_problems import ACUTE_PROBLEMS
from weatherglass.knowledge.emergencies.crises import CRISES
from weatherglass.knowledge.medicines.expected_medicines import EXPECTED
from weatherglass.knowledge.medicines.ingredients import BY_NAME
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.named_rules import BY_TRIGGER, NAMED_RULES
from weatherglass.knowledge.medicines.rules import triggers
from weatherglass.knowledge.medicines.rules.actions import ACTIONS, PRECEDENCE, Action
from weatherglass.knowledge.medicines.rules.combinations import COMBINATIONS
from weatherglass.knowledge.medicines.rules.levels import LEVEL_RULES
from weatherglass.knowledge.medicines.rules.rule import Circumstance, MedicineRule, RestartPlan, Trigger
from weatherglass.knowledge.medicines.rules.rules import RULES, RULES_BY_TRIGGER
from weatherglass.knowledge.medicines.rules.said.do_not_stop import DO_NOT_STOP
from weatherglass.knowledge.medicines.rules.thrombosis import ANTITHROMBOTICS, DISCUSS, THROMBOSIS_RISKS
from weatherglass.knowledge.sepsis.other_causes import CAUSES
from weatherglass.model.plain import replace
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.sources import Mark, our_choice
from weatherglass.model.tables.bands import Cutoff

C = MedicineClass
T = Trigger
R = Circumstance


def _suggested(trigger: Trigger, key: MedicineClass, *holds: Circumstance) -> set[Action]:
    """The leading actions of the rules for one class, read from the data alone."""
    found = set()
    for rule in RULES_BY_TRIGGER[trigger]:
        if key not in rule.classes or key in rule.but_not or set(rule.unless) & set(holds):
            continue
        if rule.only_when and not set(rule.only_when) & set(holds):
            continue
        stronger = [step.action for step in rule.stronger if set(step.when) & set(holds)]
        milder = [step.action for step in rule.milder if set(step.when) & set(holds)]
        found.add(milder[0] if milder else stronger[0] if stronger else rule.action)
    return found


class TestActions:
    """One line of a published list each: trigger, class, circumstances, action."""

    @pytest.mark.parametrize(
        ("trigger", "key", "holds", "action"),
        [
            # NICE NG148 and the UK renal pharmacy guidance of 2016: acute kidney injury.
            (T.AKI, C.NSAID, (), Action.HOLD),
            (T.AKI, C.ACE_INHIBITOR, (), Action.REVIEW),
            (T.AKI, C.ACE_INHIBITOR, (R.HYPOTENSION,), Action.HOLD),
            (T.AKI, C.ARB, (R.HYPOVOLAEMIA,), Action.HOLD),
            (T.AKI, C.ARNI, (R.SEPSIS,), Action.HOLD),
            (T.AKI, C.RENIN_INHIBITOR, (R.POTASSIUM_AT_LEAST_6,), Action.HOLD),
            (T.AKI, C.ACE_INHIBITOR, (R.AKI_STAGE_2_OR_MORE,), Action.HOLD),
            (T.AKI, C.ACE_INHIBITOR, (R.HEART_FAILURE,), Action.REVIEW),
            (T.AKI, C.MRA, (R.HEART_FAILURE,), Action.HOLD),
            (T.AKI, C.POTASSIUM_SPARING, (), Action.HOLD),
            (T.AKI, C.LOOP_DIURETIC, (), Action.REVIEW),
            (T.AKI, C.LOOP_DIURETIC, (R.HYPOVOLAEMIA,), Action.HOLD),
            (T.AKI, C.LOOP_DIURETIC, (R.HYPOVOLAEMIA, R.FLUID_OVERLOAD), Action.REVIEW),
            (T.AKI, C.THIAZIDE, (), Action.REVIEW),
            (T.AKI, C.DIHYDROPYRIDINE, (), None),
            (T.AKI, C.DIHYDROPYRIDINE, (R.AKI_STAGE_2_OR_MORE,), Action.REVIEW),
            (T.AKI, C.NITRATE, (R.HYPOTENSION,), Action.HOLD),
            (T.AKI, C.BETA_BLOCKER, (R.HYPOTENSION,), Action.REVIEW),
            (T.AKI, C.RENALLY_CLEARED_OPIOID, (), Action.REDUCE),
            (T.AKI, C.GABAPENTINOID, (), Action.REDUCE),
            (T.AKI, C.PHENYTOIN, (), Action.LEVEL),
            (T.AKI, C.AMINOGLYCOSIDE, (), Action.LEVEL),
            (T.AKI, C.GLYCOPEPTIDE, (), Action.LEVEL),
            (T.AKI, C.ACICLOVIR_LIKE, (), Action.REDUCE),
            (T.AKI, C.TRIMETHOPRIM, (), Action.REDUCE),
            (T.AKI, C.DIGITALIS, (), Action.LEVEL),
            (T.AKI, C.LITHIUM, (), Action.HOLD),
            (T.AKI, C.CALCINEURIN_INHIBITOR, (), Action.LEVEL),
            (T.AKI, C.METHOTREXATE, (), Action.HOLD),
            (T.AKI, C.COLCHICINE, (), Action.REDUCE),
            (T.AKI, C.COLCHICINE, (R.AKI_STAGE_3,), Action.HOLD),
            (T.AKI, C.BISPHOSPHONATE, (), Action.REVIEW),
            (T.AKI, C.BISPHOSPHONATE, (R.INTRAVENOUS,), Action.HOLD),
            (T.AKI, C.FIBRATE, (), Action.HOLD),
            (T.AKI, C.LMWH, (), Action.REVIEW),
            # Crass, Clin Infect Dis 2019: no reduction in the first 48 hours; ours: from stage 2.
            (T.AKI, C.BETA_LACTAM, (R.FIRST_48_HOURS_OF_TREATMENT,), Action.CONTINUE),
            (
                T.AKI,
                C.BETA_LACTAM,
                (R.FIRST_48_HOURS_OF_TREATMENT, R.AKI_STAGE_2_OR_MORE),
                Action.CONTINUE,
            ),
            (T.AKI, C.BETA_LACTAM, (), None),
            (T.AKI, C.BETA_LACTAM, (R.AKI_STAGE_2_OR_MORE,), Action.REDUCE),
            (T.AKI, C.IODINATED_CONTRAST, (), Action.AVOID),
            # NICE NG28 and MHRA, March 2020.
            (T.AKI, C.METFORMIN, (), Action.HOLD),
            (T.LOW_EGFR, C.METFORMIN, (R.EGFR_BELOW_45,), Action.REVIEW),
            (T.LOW_EGFR, C.METFORMIN, (R.EGFR_BELOW_30,), Action.HOLD),
            (T.AKI, C.SGLT2_INHIBITOR, (), Action.HOLD),
            # UK Kidney Association 2023, NICE NG203.
            (T.HYPERKALAEMIA, C.POTASSIUM_SUPPLEMENT, (), Action.HOLD),
            (T.HYPERKALAEMIA, C.POTASSIUM_SUPPLEMENT, (R.HAEMOLYSED_SAMPLE,), Action.REVIEW),
            (T.HYPERKALAEMIA, C.MRA, (R.POTASSIUM_AT_LEAST_6,), Action.HOLD),
            (T.HYPERKALAEMIA, C.ARB, (), Action.REVIEW),
            (T.HYPERKALAEMIA, C.ACE_INHIBITOR, (R.POTASSIUM_AT_LEAST_6,), Action.HOLD),
            (T.HYPERKALAEMIA, C.ACE_INHIBITOR, (R.POTASSIUM_AT_LEAST_6, R.HAEMOLYSED_SAMPLE), Action.REVIEW),
            (T.HYPERKALAEMIA, C.TRIMETHOPRIM, (), Action.REVIEW),
            (T.HYPERKALAEMIA, C.TRIMETHOPRIM, (R.POTASSIUM_AT_LEAST_6,), Action.HOLD),
            (T.HYPERKALAEMIA, C.NSAID, (R.POTASSIUM_AT_LEAST_6,), Action.HOLD),
            (T.HYPERKALAEMIA, C.HEPARIN, (), Action.REVIEW),
            # Hypotension and bradycardia: mostly from memory; FDA labels; steroid alert 2020.
            (T.HYPOTENSION, C.ACE_INHIBITOR, (), Action.HOLD),
            (T.HYPOTENSION, C.MRA, (R.HEART_FAILURE,), Action.REVIEW),
            (T.HYPOTENSION, C.ALPHA_BLOCKER, (), Action.HOLD),
            (T.HYPOTENSION, C.BETA_BLOCKER, (), Action.REVIEW),
            (T.HYPOTENSION, C.BETA_BLOCKER, (R.SHOCK,), Action.HOLD),
            (T.HYPOTENSION, C.CENTRAL_ANTIHYPERTENSIVE, (), Action.REVIEW),
            (T.HYPOTENSION, C.GLUCOCORTICOID, (), None),
            (T.HYPOTENSION, C.GLUCOCORTICOID, (R.LONG_TERM_STEROID,), Action.CONTINUE),
            (T.HYPOTENSION, C.DOPAMINE_AGONIST, (), Action.CONTINUE),
            (T.SLOW_PULSE, C.BETA_BLOCKER, (), Action.REVIEW),  # STOPP 2015, restated.
            (T.SLOW_PULSE, C.DIGITALIS, (), Action.REVIEW),
            (T.SLOW_PULSE, C.RATE_LIMITING_CALCIUM_BLOCKER, (), Action.REVIEW),
            (T.BRADYCARDIA, C.BETA_BLOCKER, (), Action.HOLD),
            (T.BRADYCARDIA, C.RATE_LIMITING_CALCIUM_BLOCKER, (), Action.HOLD),
            (T.BRADYCARDIA, C.DIGITALIS, (), Action.HOLD),
            (T.BRADYCARDIA, C.IVABRADINE, (), Action.HOLD),
            (T.BRADYCARDIA, C.CHOLINESTERASE_INHIBITOR, (), Action.HOLD),
            (T.BRADYCARDIA, C.ANTIMYASTHENIC, (), Action.REVIEW),
            # BSH 2011, ACG-CAG 2022; the rest from memory.
            (T.BLEEDING, C.VITAMIN_K_ANTAGONIST, (), Action.HOLD),
            (T.BLEEDING, C.FACTOR_XA_INHIBITOR, (), Action.HOLD),
            (T.BLEEDING, C.ASPIRIN, (R.SECONDARY_PREVENTION,), Action.CONTINUE),
            (T.BLEEDING, C.ASPIRIN, (), Action.REVIEW),
            (T.BLEEDING, C.P2Y12_INHIBITOR, (R.CORONARY_STENT,), Action.CONTINUE),
            (T.BLEEDING, C.NSAID, (), Action.HOLD),
            (T.BLEEDING, C.GLUCOCORTICOID, (), Action.CONTINUE),
            # Ours: bleeding into the head or another critical site has rules of its own.
            (T.BLEEDING, C.VITAMIN_K_ANTAGONIST, (R.CRITICAL_BLEEDING,), None),
            (T.BLEEDING, C.ASPIRIN, (R.CRITICAL_BLEEDING, R.SECONDARY_PREVENTION), None),
            (T.CRITICAL_BLEEDING, C.FACTOR_XA_INHIBITOR, (), Action.HOLD),
            (T.CRITICAL_BLEEDING, C.THROMBOLYTIC, (), Action.HOLD),
            (T.CRITICAL_BLEEDING, C.ASPIRIN, (), Action.HOLD),
            (T.CRITICAL_BLEEDING, C.ASPIRIN, (R.CORONARY_STENT,), Action.REVIEW),
            # NICE NG232, restated elsewhere.
            (T.HEAD_INJURY, C.FACTOR_XA_INHIBITOR, (), Action.REVIEW),
            (T.HEAD_INJURY, C.ASPIRIN, (), Action.REVIEW),
            (T.INR_ABOVE_8, C.VITAMIN_K_ANTAGONIST, (), Action.HOLD),
            (T.INR_5_TO_8, C.VITAMIN_K_ANTAGONIST, (), Action.HOLD),
            (T.INR_ABOVE_TARGET, C.VITAMIN_K_ANTAGONIST, (), Action.REVIEW),
            (T.LOW_PLATELETS, C.HEPARIN, (), Action.REVIEW),
            (T.LOW_PLATELETS, C.HEPARIN, (R.PLATELETS_BELOW_25,), Action.HOLD),
            (T.PLATELETS_HALVED_ON_HEPARIN, C.HEPARIN, (), Action.REVIEW),
            (T.PLATELETS_HALVED_ON_HEPARIN, C.HEPARIN, (R.PLATELETS_HALVED,), Action.HOLD),
            # Joint British Diabetes Societies.
            (T.HYPOGLYCAEMIA, C.SULFONYLUREA, (), Action.HOLD),
            (T.HYPOGLYCAEMIA, C.GLINIDE, (), Action.HOLD),
            (T.HYPOGLYCAEMIA, C.INSULIN, (), Action.REVIEW),
            # Common practice, no source: an infusion is paused, and back once the glucose is.
            (T.HYPOGLYCAEMIA, C.INSULIN, (R.INTRAVENOUS,), Action.HOLD),
            (T.HYPOGLYCAEMIA, C.INSULIN, (R.INTRAVENOUS, R.GLUCOSE_RECOVERED), Action.REVIEW),
            (T.HYPOGLYCAEMIA, C.METFORMIN, (), Action.MONITOR),
            # FDA 2020 for benzodiazepines with opioids; the rest from memory.
            (T.REDUCED_CONSCIOUSNESS, C.OPIOID, (), Action.HOLD),
            (T.REDUCED_CONSCIOUSNESS, C.OPIOID, (R.PALLIATIVE,), Action.REVIEW),
            (T.REDUCED_CONSCIOUSNESS, C.BENZODIAZEPINE, (), Action.HOLD),
            (T.REDUCED_CONSCIOUSNESS, C.GABAPENTINOID, (R.EPILEPSY,), Action.REVIEW),
            (T.REDUCED_CONSCIOUSNESS, C.SEDATING_ANTIHISTAMINE, (), Action.HOLD),
            (T.REDUCED_CONSCIOUSNESS, C.OTHER_SEDATIVE, (), Action.REVIEW),
            (T.REDUCED_CONSCIOUSNESS, C.TRICYCLIC, (), Action.REVIEW),
            # Ours: in palliative care every one of them is reviewed and not held.
            *(
                (T.REDUCED_CONSCIOUSNESS, key, (R.PALLIATIVE,), Action.REVIEW)
                for key in (
                    C.BENZODIAZEPINE,
                    C.Z_DRUG,
                    C.GABAPENTINOID,
                    C.BARBITURATE,
                    C.BACLOFEN,
                    C.ANTIPSYCHOTIC,
                    C.SEDATING_ANTIHISTAMINE,
                )
            ),
            # Nursing guideline on opioid-induced sedation, 2011: sedation comes first.
            (T.DROWSINESS, C.OPIOID, (), Action.REVIEW),
            (T.DROWSINESS, C.BENZODIAZEPINE, (), Action.REVIEW),
            (T.DROWSINESS, C.OTHER_SEDATIVE, (), Action.REVIEW),
            (T.LACTATE_OR_ACIDOSIS, C.METFORMIN, (), Action.HOLD),
            (T.LACTATE_OR_ACIDOSIS, C.SGLT2_INHIBITOR, (), Action.HOLD),
            (T.LACTATE_OR_ACIDOSIS, C.LINEZOLID, (), Action.REVIEW),
            (T.RAISED_KETONES, C.SGLT2_INHIBITOR, (), Action.HOLD),  # MHRA March 2020.
            (T.RAISED_KETONES, C.INSULIN, (), Action.CONTINUE),
            (T.FLUID_LOSS, C.ACE_INHIBITOR, (), Action.HOLD),  # NICE NG148, from memory.
            (T.FLUID_LOSS, C.SGLT2_INHIBITOR, (), Action.HOLD),
            (T.FLUID_LOSS, C.LITHIUM, (), Action.LEVEL),
            (T.FLUID_LOSS, C.GLUCOCORTICOID, (), None),
            (T.FLUID_LOSS, C.GLUCOCORTICOID, (R.LONG_TERM_STEROID,), Action.CONTINUE),
            (T.OPIOID_REVERSED, C.OPIOID, (), Action.HOLD),  # NHS Greater Glasgow and Clyde.
            (T.OPIOID_REVERSED, C.OPIOID, (R.PALLIATIVE,), Action.REVIEW),
            (T.SEPSIS, C.SGLT2_INHIBITOR, (), Action.HOLD),
            (T.SEPSIS, C.METFORMIN, (), Action.REVIEW),
            (T.SEPSIS, C.METFORMIN, (R.SHOCK,), Action.HOLD),
            (T.SEPSIS, C.METHOTREXATE, (R.SEPSIS,), Action.HOLD),
            (T.SEPSIS, C.METHOTREXATE, (), None),
            (T.SEPSIS, C.MYCOPHENOLATE, (R.SEPSIS, R.TRANSPLANT), Action.REVIEW),
            (T.SEPSIS, C.GLUCOCORTICOID, (), None),
            (T.SEPSIS, C.GLUCOCORTICOID, (R.LONG_TERM_STEROID,), Action.CONTINUE),
            (T.CONTRAST_PLANNED, C.NSAID, (), Action.HOLD),
            (T.CONTRAST_PLANNED, C.METFORMIN, (R.EGFR_BELOW_30,), Action.HOLD),
            (T.LOW_SODIUM, C.THIAZIDE, (), Action.HOLD),
            (T.LOW_SODIUM, C.SSRI, (), Action.REVIEW),
            (T.LOW_SODIUM, C.DESMOPRESSIN, (), Action.REVIEW),
            (T.LOW_SODIUM, C.DESMOPRESSIN, (R.DIABETES_INSIPIDUS,), Action.CONTINUE),
            (T.LOW_POTASSIUM, C.DIGITALIS, (), Action.LEVEL),
            (T.LOW_POTASSIUM, C.QT_PROLONGING, (), Action.REVIEW),
            (T.LOW_MAGNESIUM, C.DIGITALIS, (), Action.LEVEL),
            (T.ANY, C.LEVODOPA, (), None),
            (T.ANY, C.DOPAMINERGIC, (), Action.CONTINUE),
            (T.ANY, C.INSULIN, (), None),
            (T.ANY, C.INSULIN, (R.TYPE_1_DIABETES,), Action.CONTINUE),
        ],
    )
    def test_line(
        self,
        trigger: Trigger,
        key: MedicineClass,
        holds: tuple[Circumstance, ...],
        action: Action | None,
    ) -> None:
        """The class gets exactly this leading action from the trigger."""
        assert _suggested(trigger, key, *holds) == (set() if action is None else {action})

    def test_every_trigger_leads_somewhere(self) -> None:
        """No trigger without a rule; those on levels and of single medicines have their own tables."""
        silent = {trigger for trigger, rules in RULES_BY_TRIGGER.items() if not rules}
        of_names = {T.WRITTEN_DOSE, *(each for each in BY_TRIGGER if not RULES_BY_TRIGGER[each])}
        assert silent == {T.LEVEL_HIGH, T.LEVEL_LOW, T.LEVEL_OVERDUE} | of_names
        assert LEVEL_RULES

    def test_every_class_is_spoken_of(self) -> None:
        """A class that no rule, note or combination names would be recognised for nothing."""
        named = {key for rule in RULES for key in rule.classes}
        named |= {key for entry in DO_NOT_STOP for key in entry.classes}
        named |= {key for combination in COMBINATIONS for group in combination.groups for key in group}
        named |= {key for row in EXPECTED for key in row.classes}
        named |= {MedicineClass(key) for rule in NAMED_RULES for key in rule.members.classes}
        named |= {MedicineClass(key) for cause in CAUSES for key in cause.classes}
        named |= {key for crisis in CRISES for key in (*crisis.classes, *crisis.given)}
        named |= {key for row in ACUTE_PROBLEMS for key in (*row.treated, *row.against)}
        assert set(MedicineClass) - named == {MedicineClass.ANTIDOTE}


class TestRulesAreComplete:
    @pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.key)
    def test_rule(self, rule: MedicineRule) -> None:
        """Each rule has a source with a mark, and a way back from every hold it can suggest."""
        assert all(source.locator and source.mark in Mark for source in rule.sources)
        assert rule.action not in rule.also
        for step in rule.stronger:
            assert PRECEDENCE.index(step.action) < PRECEDENCE.index(rule.action), "a step is stronger"
        if rule.can_hold:
            assert rule.restart is not None
            assert rule.restart.condition
            assert rule.restart.who
            assert rule.restart.within <= timedelta(hours=24)

    def test_a_hold_without_a_way_back_is_refused(self) -> None:
        """The table cannot hold a rule that lets a medicine be forgotten."""
        with pytest.raises(ValueError, match="says nothing about its return"):
            MedicineRule(
                key="made-up",
                trigger=Trigger.AKI,
                classes=(MedicineClass.NSAID,),
                action=Action.HOLD,
                reason="Made up.",
                sources=(our_choice("made up"),),
            )

    @pytest.mark.parametrize("action", [Action.RESTART, Action.NOT_REVIEWED])
    def test_what_no_rule_suggests_is_refused(self, action: Action) -> None:
        """The way back and what nobody knows are no actions of a rule."""
        with pytest.raises(ValueError, match="suggests what no rule can"):
            replace(RULES[0], action=action, stronger=())

    def test_a_rule_without_a_source_is_refused(self) -> None:
        """The table cannot hold a rule that nobody published or chose."""
        with pytest.raises(ValueError, match="lacks"):
            MedicineRule(
                key="made-up",
                trigger=Trigger.AKI,
                classes=(MedicineClass.NSAID,),
                action=Action.HOLD,
                reason="Made up.",
                restart=RestartPlan(conditions=("made up",)),
                sources=(),
            )

    def test_precedence(self) -> None:
        """Hold leads, review leads over a level; a note on continuing does not compete."""
        assert PRECEDENCE[0] is Action.HOLD
        assert PRECEDENCE[-1] is Action.CONTINUE
        assert PRECEDENCE.index(Action.REVIEW) < PRECEDENCE.index(Action.AVOID)
        assert PRECEDENCE.index(Action.AVOID) < PRECEDENCE.index(Action.LEVEL)


class TestNeverHold:
    """What must not end suddenly is never suggested for a hold."""

    @pytest.mark.parametrize("entry", DO_NOT_STOP, ids=lambda entry: entry.key)
    def test_no_rule_holds_it(self, entry: object) -> None:
        """No circumstance makes a rule hold a class that is never held unconditionally."""
        note = next(e for e in DO_NOT_STOP if e.key == entry.key)  # type: ignore[attr-defined]
        assert note.harm
        if not note.never_hold or note.when:
            return
        for rule in RULES:
            touched = set(rule.classes) & set(note.classes)
            if rule.only_when and set(rule.only_when) <= set(note.unless):
                continue  # It speaks only where the note does not: an insulin infusion.
            assert not (touched and rule.can_hold), (rule.key, touched)

    def test_transplant_eases_every_hold(self) -> None:
        """After a transplant, what could hold an immunosuppressant asks for its team, or lets it go on."""
        note = next(e for e in DO_NOT_STOP if e.key == "transplant")
        for rule in RULES:
            if rule.can_hold and set(rule.classes) & set(note.classes):
                found = _suggested(rule.trigger, MedicineClass.AZATHIOPRINE, R.SEPSIS, R.TRANSPLANT)
                assert found
                assert found <= {Action.CONTINUE, Action.REVIEW}

    @pytest.mark.parametrize(
        "key",
        [
            "beta-blocker",
            "central-antihypertensive",
            "steroid",
            "opioid",
            "benzodiazepine",
            "antiepileptic",
            "baclofen",
            "dopaminergic",
            "antithrombotic",
            "insulin-type-1",
            "transplant",
            "psychotropic",
            "antimyasthenic",
            "anti-infective",
            "thyroid",
        ],
    )
    def test_list_is_whole(self, key: str) -> None:
        """Every group of the do-not-stop list is there."""
        assert key in {entry.key for entry in DO_NOT_STOP}


def _texts() -> Iterator[tuple[str, str]]:
    for rule in RULES:
        yield rule.key, rule.reason
        yield from ((rule.key, each) for each in rule.caution)
        for caution in rule.only_for:
            yield rule.key, caution.text
        if rule.restart:
            yield rule.key, rule.restart.condition
    for entry in DO_NOT_STOP:
        yield entry.key, entry.harm
    for combination in COMBINATIONS:
        yield combination.key, combination.sentence
    for level in LEVEL_RULES:
        yield level.key, level.reason
    yield from ((action, row.words) for action, row in ACTIONS.items() if row.words)
    for risk in THROMBOSIS_RISKS:
        yield risk.text, risk.text
    yield "discuss", DISCUSS


class TestWording:
    def test_no_suggestion_is_an_order_to_stop(self) -> None:
        """The word stands only in "do not stop suddenly"; nothing is discontinued or ceased."""
        orders = re.compile(
            r"(?<!not )\bstop(s|ped|ping)?\b|\bdiscontinu|\bcease\b|\bwithhold\b", re.IGNORECASE
        )
        assert [(key, text) for key, text in _texts() if orders.search(text)] == []

    def test_a_hold_is_always_something_to_consider(self) -> None:
        """Hold is never an imperative at the start of a sentence."""
        assert ACTIONS[Action.HOLD].words.startswith("consider ")
        imperative = re.compile(r"(^|[.;:] )Hold ")
        assert [(key, text) for key, text in _texts() if imperative.search(text)] == []

    def test_no_slips_of_the_pen(self) -> None:
        """No doubled blank, no missing blank after a full stop, no blank before one."""
        slip = re.compile(r"  |[a-z][.;:,][A-Za-z]| [.,;:]|\s$")
        assert [(key, text) for key, text in _texts() if slip.search(text)] == []

    def test_sentences_are_sentences(self) -> None:
        """Reasons, harms and combinations begin with a capital and end with a full stop."""
        for rule in RULES:
            assert re.fullmatch(r"[A-Z].*\.", rule.reason, re.DOTALL), rule.key
            for text in (*rule.caution, *(each.text for each in rule.only_for)):
                assert not text or re.fullmatch(r"[A-Z].*\.", text, re.DOTALL), rule.key
        for entry in DO_NOT_STOP:
            assert re.fullmatch(r"[A-Z].*\.", entry.harm, re.DOTALL), entry.key
        for combination in COMBINATIONS:
            assert re.fullmatch(r"[A-Z].*\.", combination.sentence, re.DOTALL), combination.key


class TestLimits:
    """Both sides of every limit."""

    @pytest.mark.parametrize(
        ("cutoff", "met", "not_met"),
        [
            (triggers.HYPOTENSION_SYSTOLIC, "100", "101"),
            (triggers.HYPOTENSION_FALL, "41", "40"),  # NICE NG51, 2016: more than 40.
            (triggers.SHOCK_SYSTOLIC, "90", "91"),
            (triggers.BRADYCARDIA, "40", "41"),  # NEWS2, 2017: pulse 40 or less, 3 points.
            (triggers.BRADYCARDIA_WITH_HYPOTENSION, "49", "50"),
            (triggers.DO_NOT_START_RAAS, "5.1", "5.0"),  # NICE NG203.
            (triggers.LOW_MAGNESIUM, "0.69", "0.70"),
            (triggers.SODIUM_FALL, "11", "10"),
            (triggers.INR_5, "5.0", "4.9"),
            (triggers.INR_ABOVE_EVERY_TARGET, "4.1", "4.0"),
            (triggers.ACIDOSIS, "7.34", "7.35"),
            (triggers.HYPERCAPNIA, "6.1", "6.0"),  # BTS/ICS 2016.
            (triggers.SLOW_BREATHING, "8", "9"),  # NEWS2, 2017: 8 or fewer, 3 points.
            (triggers.SLOW_BREATHING_WITH_HYPERCAPNIA, "11", "12"),
            (triggers.LOW_GCS, "12", "13"),
            (triggers.EGFR_30, "29", "30"),  # NICE NG28.
            (triggers.EGFR_45, "44", "45"),
        ],
    )
    def test_limit(self, cutoff: Cutoff, met: str, not_met: str) -> None:
        """The printed inequality decides at the printed number."""
        assert cutoff.is_met_by(Decimal(met))
        assert not cutoff.is_met_by(Decimal(not_met))

    def test_bands_of_inr_follow_each_other(self) -> None:
        """Each limit of a raised INR lies below the next; the highest is that of the results."""
        (above_8,) = {band.cutoff for band in PUBLISHED_BANDS["inr-high"] if band.urgency == "urgent"}
        assert triggers.INR_ABOVE_EVERY_TARGET.limit.value < triggers.INR_5.limit.value
        assert triggers.INR_5.limit.value < above_8.limit.value


class TestCompanions:
    def test_level_rules(self) -> None:
        """Daily for aminoglycosides and vancomycin, three days for the others; each is an ingredient."""
        hours = {r.key: r.overdue.length / timedelta(hours=1) for r in LEVEL_RULES if r.overdue}
        assert hours == {
            "gentamicin": 24,
            "tobramycin": 24,
            "vancomycin": 24,
            "digoxin": 72,
            "lithium": 72,
            "phenytoin": 72,
            "tacrolimus": 72,
            "ciclosporin": 72,
            "amikacin": 24,
        }
        assert hours.keys() <= BY_NAME.keys()

    def test_exposure(self) -> None:
        """A day, three days for the long-acting; each of them is an ingredient."""
        assert triggers.EXPOSURE.length == timedelta(hours=24)
        assert triggers.LONG_ACTING_EXPOSURE.length == timedelta(hours=72)
        assert BY_NAME.keys() >= triggers.LONG_ACTING_INGREDIENTS

    def test_thrombosis_list(self) -> None:
        """Valve, fibrillation, clots, stents, strokes and the rest are shown beside a hold."""
        kinds = {kind for risk in THROMBOSIS_RISKS for kind in risk.kinds}
        assert kinds >= {
            ConditionKind.MECHANICAL_VALVE,
            ConditionKind.ATRIAL_FIBRILLATION,
            ConditionKind.VENOUS_THROMBOEMBOLISM,
            ConditionKind.CORONARY_STENT,
            ConditionKind.ACUTE_CORONARY_SYNDROME,
            ConditionKind.STROKE,
            ConditionKind.ANTIPHOSPHOLIPID,
            ConditionKind.LV_THROMBUS,
        }
        assert MedicineClass.THROMBOLYTIC not in ANTITHROMBOTICS

    def test_combinations(self) -> None:
        """The named meetings of medicines and triggers are all there."""
        assert {combination.key for combination in COMBINATIONS} >= {
            "aki-nsaid-raas-diuretic",
            "aki-hyperkalaemia-raas",
            "opioid-benzodiazepine",
            "metformin-sglt2-one-product",
            "steroid-adrenal-risk",
            "antiplatelet-stent-bleeding",
            "transplant-acute-illness",
            "levodopa-timing",
        }


def test_few_rules_rest_on_memory() -> None:
    """A rule names first what was read; what nobody publishes is said to be common practice."""
    remembered = [rule.key for rule in RULES if rule.sources[0].mark is Mark.FROM_MEMORY]
    assert len(remembered) < 10, remembered
