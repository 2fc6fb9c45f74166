"""Rules for a low blood pressure and a slow pulse."""

from typing import Final

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules import ways_back
from weatherglass.knowledge.medicines.rules.rule import (
    Action,
    Caution,
    MedicineRule,
    RestartPlan,
    RuleCondition,
    Step,
    Trigger,
)
from weatherglass.model.sources import Mark, our_choice

_C = MedicineClass

_PRESSURE_BACK = RestartPlan(conditions=(ways_back.PRESSURE,), then=(ways_back.CHECK_INDICATION,))
_PULSE_BACK = RestartPlan(conditions=(ways_back.PULSE, ways_back.ECG), then=(ways_back.LOWER_DOSE,))
#: In heart failure a number alone does not decide.
_DISCUSS = Step(action=Action.REVIEW, when=(RuleCondition.HEART_FAILURE,))
_HEART_FAILURE = (
    "In heart failure with a reduced ejection fraction discuss first; a number alone does not decide."
)

_LOW_PRESSURE: Final = (
    MedicineRule(
        key="hypotension-raas",
        trigger=Trigger.HYPOTENSION,
        classes=(_C.ACE_INHIBITOR, _C.ARB, _C.ARNI, _C.RENIN_INHIBITOR, _C.MRA),
        action=Action.HOLD,
        eases=(_DISCUSS,),
        reason="It lowers a pressure that is already low, and the kidney with it.",
        only_for=(Caution(text=_HEART_FAILURE, classes=(_C.ACE_INHIBITOR, _C.ARB, _C.ARNI, _C.MRA)),),
        monitor=("blood pressure", "creatinine and potassium"),
        restart=_PRESSURE_BACK,
        sources=(
            cited.AKI_PHARMACY.at("quick guide, antihypertensives when pressure is low"),
            cited.memory("heart failure medicines are not held by number alone"),
        ),
    ),
    MedicineRule(
        key="hypotension-diuretic",
        trigger=Trigger.HYPOTENSION,
        classes=(_C.LOOP_DIURETIC, _C.THIAZIDE, _C.POTASSIUM_SPARING),
        action=Action.REVIEW,
        steps=(Step(action=Action.HOLD, when=(RuleCondition.HYPOVOLAEMIA,)),),
        eases=(Step(action=Action.REVIEW, when=(RuleCondition.FLUID_OVERLOAD,)),),
        reason="It takes volume away: consider holding it in someone who is dry, keep it in someone who is "
        "overloaded.",
        only_for=(Caution(text=_HEART_FAILURE, classes=(_C.LOOP_DIURETIC, _C.THIAZIDE)),),
        restart=RestartPlan(conditions=(ways_back.VOLUME_OR_OVERLOAD,)),
        sources=(cited.AKI_PHARMACY.at("quick guide, diuretics when pressure is low"),),
    ),
    MedicineRule(
        key="hypotension-vasodilator",
        trigger=Trigger.HYPOTENSION,
        classes=(
            _C.DIHYDROPYRIDINE,
            _C.RATE_LIMITING_CALCIUM_BLOCKER,
            _C.ALPHA_BLOCKER,
            _C.ARTERIOLAR_VASODILATOR,
            _C.OTHER_ANTIHYPERTENSIVE,
            _C.NITRATE,
            _C.NICORANDIL,
        ),
        action=Action.HOLD,
        reason="It widens vessels while the pressure is already low.",
        only_for=(
            Caution(
                text="It may be all that controls angina.",
                classes=(_C.DIHYDROPYRIDINE, _C.NITRATE, _C.NICORANDIL),
            ),
            Caution(
                text="It may be all that controls angina or a heart rate.",
                classes=(_C.RATE_LIMITING_CALCIUM_BLOCKER,),
            ),
        ),
        monitor=("blood pressure",),
        restart=_PRESSURE_BACK,
        sources=(cited.AKI_PHARMACY.at("quick guide, antihypertensives and nitrates when pressure is low"),),
    ),
    MedicineRule(
        key="hypotension-central-antihypertensive",
        trigger=Trigger.HYPOTENSION,
        classes=(_C.CENTRAL_ANTIHYPERTENSIVE,),
        action=Action.REVIEW,
        also=(Action.CONTINUE,),
        reason="It lowers pressure, but missed doses make it rebound: reduce in steps.",
        sources=(
            cited.AKI_PHARMACY.at("quick guide, antihypertensives when pressure is low"),
            our_choice("reviewed, not held, because of rebound"),
        ),
    ),
    MedicineRule(
        key="hypotension-beta-blocker",
        trigger=Trigger.HYPOTENSION,
        classes=(_C.BETA_BLOCKER,),
        action=Action.REVIEW,
        also=(Action.CONTINUE,),
        steps=(Step(action=Action.HOLD, when=(RuleCondition.SHOCK, RuleCondition.BRADYCARDIA)),),
        reason="It weakens the heart's answer to a low pressure.",
        caution="Not to be withdrawn abruptly in ischaemic heart disease; a hold is for shock or a slow "
        "pulse alone.",
        monitor=("pulse and blood pressure",),
        restart=_PRESSURE_BACK,
        sources=(cited.memory("beta-blockers in hypotension"), cited.FDA_BETA_BLOCKERS.at("boxed warning")),
    ),
    MedicineRule(
        key="hypotension-sglt2",
        trigger=Trigger.HYPOTENSION,
        classes=(_C.SGLT2_INHIBITOR,),
        action=Action.HOLD,
        also=(Action.MONITOR,),
        reason="It takes volume away.",
        monitor=("blood ketones, even when glucose is normal",),
        restart=RestartPlan(conditions=(ways_back.EATING, ways_back.KETONES)),
        sources=(cited.memory("SGLT2 inhibitors and volume"), cited.MHRA_SGLT2.at("acute serious illness")),
    ),
    MedicineRule(
        key="hypotension-pde5",
        trigger=Trigger.HYPOTENSION,
        classes=(_C.PDE5_INHIBITOR,),
        action=Action.HOLD,
        reason="It widens vessels; with a nitrate the pressure can collapse.",
        only_for=(
            Caution(
                text="When it is given for pulmonary hypertension, call that team before any omission.",
                ingredients=("sildenafil", "tadalafil"),
            ),
        ),
        restart=_PRESSURE_BACK,
        sources=(cited.memory("phosphodiesterase-5 inhibitors and nitrates"),),
    ),
    MedicineRule(
        key="hypotension-pulmonary-hypertension",
        trigger=Trigger.HYPOTENSION,
        classes=(_C.PULMONARY_HYPERTENSION,),
        action=Action.REVIEW,
        also=(Action.CONTINUE,),
        reason="It lowers pressure, but a gap can bring on right heart failure within hours.",
        sources=(cited.memory("prostacyclins and endothelin blockers"),),
    ),
    MedicineRule(
        key="hypotension-other-causes",
        trigger=Trigger.HYPOTENSION,
        classes=(_C.TRICYCLIC, _C.ANTIPSYCHOTIC, _C.GABAPENTINOID, _C.OPIOID),
        action=Action.REVIEW,
        reason="It can lower pressure.",
        sources=(cited.memory("medicines of the mind and of pain that lower pressure"),),
    ),
    MedicineRule(
        key="hypotension-dopamine-agonist",
        trigger=Trigger.HYPOTENSION,
        classes=(_C.DOPAMINE_AGONIST,),
        action=Action.CONTINUE,
        reason="It can lower pressure, but a missed dose can bring on a crisis of rigidity.",
        caution="Ask the Parkinson's team about the dose.",
        sources=(cited.memory("dopamine agonists and pressure"),),
    ),
    MedicineRule(
        key="hypotension-steroid",
        trigger=Trigger.HYPOTENSION,
        classes=(_C.GLUCOCORTICOID, _C.MINERALOCORTICOID),
        action=Action.CONTINUE,
        reason="A low pressure in a steroid user may be an adrenal crisis: more steroid may be needed, not "
        "less.",
        monitor=("sodium, potassium and glucose",),
        sources=(cited.STEROID_CARD.at("omission can be fatal; acute illness needs more"),),
    ),
)

_SLOW_PULSE: Final = (
    MedicineRule(
        key="slow-pulse",
        trigger=Trigger.SLOW_PULSE,
        classes=(
            _C.BETA_BLOCKER,
            _C.RATE_LIMITING_CALCIUM_BLOCKER,
            _C.DIGITALIS,
            _C.ANTIARRHYTHMIC,
            _C.IVABRADINE,
        ),
        action=Action.REVIEW,
        reason="It slows a pulse that is slow already.",
        monitor=("pulse and blood pressure", "12-lead ECG when the pulse stays below 50"),
        sources=(
            cited.STOPP.at("B4, beta-blocker with a pulse below 50", Mark.SECONDARY),
            our_choice("the other medicines that slow the pulse are looked at too"),
        ),
    ),
    MedicineRule(
        key="bradycardia-beta-blocker",
        trigger=Trigger.BRADYCARDIA,
        classes=(_C.BETA_BLOCKER,),
        action=Action.HOLD,
        also=(Action.CONTINUE,),
        reason="It slows a pulse that is already slow.",
        caution="A hold means the next dose, not the treatment.",
        monitor=("12-lead ECG", "pulse and blood pressure"),
        restart=_PULSE_BACK,
        sources=(
            cited.memory("beta-blockers in bradycardia"),
            cited.AKI_PHARMACY.at("beta-blockers build up in kidney injury"),
        ),
    ),
    MedicineRule(
        key="bradycardia-rate-limiting",
        trigger=Trigger.BRADYCARDIA,
        classes=(_C.RATE_LIMITING_CALCIUM_BLOCKER, _C.IVABRADINE),
        action=Action.HOLD,
        reason="It slows the sinus node or conduction.",
        only_for=(
            Caution(
                text="Verapamil with a beta-blocker, above all into a vein, can arrest the heart.",
                ingredients=("verapamil",),
            ),
        ),
        monitor=("12-lead ECG",),
        restart=_PULSE_BACK,
        sources=(cited.memory("verapamil, diltiazem and ivabradine in bradycardia"),),
    ),
    MedicineRule(
        key="bradycardia-digoxin",
        trigger=Trigger.BRADYCARDIA,
        classes=(_C.DIGITALIS,),
        action=Action.HOLD,
        also=(Action.LEVEL,),
        reason="A slow pulse on digoxin is poisoning until shown otherwise.",
        monitor=("digoxin level", "potassium and magnesium", "12-lead ECG"),
        restart=RestartPlan(
            conditions=(ways_back.PULSE, ways_back.LEVEL_IN_RANGE), then=(ways_back.LOWER_DOSE,)
        ),
        sources=(cited.memory("digoxin in bradycardia"),),
    ),
    MedicineRule(
        key="bradycardia-antiarrhythmic",
        trigger=Trigger.BRADYCARDIA,
        classes=(_C.ANTIARRHYTHMIC,),
        action=Action.HOLD,
        reason="It slows the sinus node or conduction.",
        only_for=(
            Caution(text="Amiodarone acts for weeks after the last dose.", ingredients=("amiodarone",)),
        ),
        caution="Ask cardiology: the rhythm it controls may be worse than the slow pulse.",
        monitor=("12-lead ECG with QTc",),
        restart=_PULSE_BACK,
        sources=(cited.memory("antiarrhythmics in bradycardia"),),
    ),
    MedicineRule(
        key="bradycardia-central-antihypertensive",
        trigger=Trigger.BRADYCARDIA,
        classes=(_C.CENTRAL_ANTIHYPERTENSIVE,),
        action=Action.REVIEW,
        also=(Action.CONTINUE,),
        reason="It slows the pulse, but missed doses make pressure rebound: reduce in steps.",
        sources=(
            cited.memory("clonidine and moxonidine in bradycardia"),
            our_choice("reviewed, not held, because of rebound"),
        ),
    ),
    MedicineRule(
        key="bradycardia-cholinesterase",
        trigger=Trigger.BRADYCARDIA,
        classes=(_C.CHOLINESTERASE_INHIBITOR,),
        but_not=(_C.ANTIMYASTHENIC,),
        action=Action.HOLD,
        reason="It slows the pulse through the vagus nerve.",
        restart=_PULSE_BACK,
        sources=(cited.memory("cholinesterase inhibitors in bradycardia"),),
    ),
    MedicineRule(
        key="bradycardia-antimyasthenic",
        trigger=Trigger.BRADYCARDIA,
        classes=(_C.ANTIMYASTHENIC,),
        action=Action.REVIEW,
        also=(Action.CONTINUE,),
        reason="It slows the pulse, but in myasthenia a missed dose can take away swallowing and breathing.",
        sources=(cited.OMITTED_MEDICINES.at("anticholinesterases"),),
    ),
    MedicineRule(
        key="bradycardia-lithium",
        trigger=Trigger.BRADYCARDIA,
        classes=(_C.LITHIUM,),
        action=Action.HOLD,
        also=(Action.LEVEL,),
        reason="Lithium can poison the sinus node.",
        monitor=("lithium level", "12-lead ECG"),
        restart=RestartPlan(
            conditions=(ways_back.PULSE, ways_back.LEVEL_IN_RANGE), who="psychiatry with the ward pharmacist"
        ),
        sources=(cited.memory("lithium in bradycardia"),),
    ),
    MedicineRule(
        key="bradycardia-opioid",
        trigger=Trigger.BRADYCARDIA,
        classes=(_C.OPIOID,),
        action=Action.REVIEW,
        reason="A high dose slows the pulse; methadone also lengthens the QT interval.",
        monitor=("sedation and breathing rate",),
        sources=(
            cited.memory("opioids in bradycardia"),
            our_choice("reviewed, since the dose is not judged"),
        ),
    ),
)

RULES: Final = (*_LOW_PRESSURE, *_SLOW_PULSE)
