"""Rules for reduced consciousness and slow breathing: what sedates."""

from typing import Final

from weatherglass.knowledge import publications as cited
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules import ways_back
from weatherglass.knowledge.medicines.rules.forms import Form
from weatherglass.knowledge.medicines.rules.rule import (
    Action,
    Caution,
    MedicineRule,
    Rank,
    RestartPlan,
    RuleCondition,
    Step,
    Trigger,
)
from weatherglass.model.sources import Mark, our_choice

_C = MedicineClass

_AWAKE = RestartPlan(conditions=(ways_back.AWAKE,), then=(ways_back.LOWER_DOSE, "watch for withdrawal"))
_WATCH = (
    "sedation, breathing rate and oxygen saturation every 15 minutes at first",
    "glucose and a blood gas",
)
_WATCH_DROWSY = ("sedation, breathing rate and oxygen saturation every hour at first", "glucose")
_DROWSY_CHOICE = our_choice("every opioid and sedative is reviewed in somebody drowsy or newly confused")
#: Someone with epilepsy may be unconscious from a seizure: the next dose may be the treatment.
_EPILEPSY = Step(action=Action.REVIEW, when=(RuleCondition.EPILEPSY,))
#: In palliative care sleep may be what is wanted; the team that knows decides.
_PALLIATIVE = Step(action=Action.REVIEW, when=(RuleCondition.PALLIATIVE,))
_OTHER_CAUSES = "Think of glucose, carbon dioxide, infection, a seizure and head injury as well."
_CHOICE = our_choice("the next dose is held and reviewed; in epilepsy it is reviewed first")

RULES: Final = (
    MedicineRule(
        key="sedation-opioid",
        trigger=Trigger.REDUCED_CONSCIOUSNESS,
        classes=(_C.OPIOID,),
        action=Action.HOLD,
        eases=(_PALLIATIVE,),
        reason="It sedates and slows breathing.",
        caution="Naloxone is given in small steps. Not withheld completely in palliative care, dependence or "
        "long-term use without advice. " + _OTHER_CAUSES,
        only_for=(
            Caution(text="Consider taking the patch off; its depot goes on acting.", forms=(Form.PATCH,)),
        ),
        monitor=_WATCH,
        restart=_AWAKE,
        sources=(
            cited.memory("opioids in reduced consciousness"),
            cited.FDA_OPIOIDS.at("sudden discontinuation", Mark.FROM_MEMORY),
            our_choice("hold the next dose and seek review, with the note on withdrawal"),
        ),
        rank=Rank(1, "nothing else slows breathing so much, and naloxone tells"),
    ),
    MedicineRule(
        key="reversed-opioid",
        trigger=Trigger.OPIOID_REVERSED,
        classes=(_C.OPIOID,),
        action=Action.HOLD,
        eases=(_PALLIATIVE,),
        reason="Naloxone wears off before most opioids do: sleep and slow breathing can come back.",
        caution="Watch for 6 hours after the last dose of naloxone. A long-term user may be in withdrawal "
        "and pain.",
        only_for=(
            Caution(
                text="It outlasts naloxone by far: watch for longer than 6 hours.",
                forms=(Form.PATCH, Form.SLOW_RELEASE),
            ),
            Caution(
                text="Methadone outlasts naloxone by far: watch for longer than 6 hours.",
                ingredients=("methadone", "levomethadone"),
            ),
        ),
        monitor=("sedation, breathing rate and oxygen saturation every 15 minutes at first",),
        restart=_AWAKE,
        sources=(
            cited.NALOXONE.at("watched for at least 6 hours after the last dose"),
            our_choice("longer after patches, methadone and slow-release forms"),
        ),
        rank=Rank(1, "naloxone wears off before it does"),
    ),
    MedicineRule(
        key="sedation-benzodiazepine",
        trigger=Trigger.REDUCED_CONSCIOUSNESS,
        classes=(_C.BENZODIAZEPINE, _C.Z_DRUG),
        action=Action.HOLD,
        also=(Action.CONTINUE,),
        eases=(_EPILEPSY, _PALLIATIVE),
        reason="It sedates and, with an opioid, can end breathing.",
        caution="Flumazenil is for specialists. " + _OTHER_CAUSES,
        monitor=_WATCH,
        restart=_AWAKE,
        sources=(cited.FDA_BENZODIAZEPINES.at("boxed warning: with opioids, and on withdrawal"), _CHOICE),
        rank=Rank(2, "with an opioid it can end breathing"),
    ),
    MedicineRule(
        key="sedation-gabapentinoid",
        trigger=Trigger.REDUCED_CONSCIOUSNESS,
        classes=(_C.GABAPENTINOID,),
        action=Action.HOLD,
        also=(Action.CONTINUE,),
        eases=(_EPILEPSY, _PALLIATIVE),
        reason="It sedates, most of all with an opioid or with kidney injury.",
        caution=_OTHER_CAUSES,
        monitor=_WATCH,
        restart=_AWAKE,
        sources=(cited.memory("gabapentinoids in reduced consciousness"), _CHOICE),
    ),
    MedicineRule(
        key="sedation-antiepileptic",
        trigger=Trigger.REDUCED_CONSCIOUSNESS,
        classes=(_C.BARBITURATE, _C.PHENYTOIN),
        action=Action.HOLD,
        also=(Action.LEVEL, Action.CONTINUE),
        eases=(_EPILEPSY, _PALLIATIVE),
        reason="A high level sedates.",
        caution="A low level lets seizures through, and they can look the same: measure before deciding. "
        + _OTHER_CAUSES,
        monitor=("level now", *_WATCH),
        restart=_AWAKE,
        sources=(cited.memory("barbiturates and phenytoin in reduced consciousness"), _CHOICE),
    ),
    MedicineRule(
        key="sedation-baclofen",
        trigger=Trigger.REDUCED_CONSCIOUSNESS,
        classes=(_C.BACLOFEN,),
        action=Action.HOLD,
        also=(Action.CONTINUE,),
        eases=(_PALLIATIVE,),
        reason="It sedates, and in kidney injury can bring coma.",
        caution=_OTHER_CAUSES,
        only_for=(Caution(text="A pump is for its own team.", forms=(Form.PUMP,)),),
        monitor=_WATCH,
        restart=_AWAKE,
        sources=(cited.memory("baclofen in reduced consciousness"),),
    ),
    MedicineRule(
        key="sedation-antipsychotic",
        trigger=Trigger.REDUCED_CONSCIOUSNESS,
        classes=(_C.ANTIPSYCHOTIC,),
        action=Action.HOLD,
        eases=(_PALLIATIVE,),
        reason="It sedates.",
        caution="Fever and rigidity with it are an emergency of their own. " + _OTHER_CAUSES,
        only_for=(
            Caution(
                text="For clozapine a gap of 48 hours means that it must be started again from the lowest "
                "dose: tell psychiatry at once.",
                classes=(_C.CLOZAPINE,),
            ),
        ),
        monitor=_WATCH,
        restart=_AWAKE,
        sources=(cited.memory("antipsychotics in reduced consciousness"),),
    ),
    MedicineRule(
        key="sedation-antihistamine",
        trigger=Trigger.REDUCED_CONSCIOUSNESS,
        classes=(_C.SEDATING_ANTIHISTAMINE,),
        action=Action.HOLD,
        eases=(_PALLIATIVE,),
        reason="It sedates and confuses.",
        caution=_OTHER_CAUSES,
        monitor=_WATCH,
        restart=_AWAKE,
        sources=(cited.memory("sedating antihistamines in reduced consciousness"),),
    ),
    MedicineRule(
        key="sedation-other",
        trigger=Trigger.REDUCED_CONSCIOUSNESS,
        classes=(_C.OTHER_SEDATIVE, _C.TRICYCLIC),
        action=Action.REVIEW,
        reason="It sedates and adds to whatever else does.",
        caution=_OTHER_CAUSES,
        monitor=_WATCH,
        sources=(cited.memory("sedating antidepressants, scopolamine, ketamine, tizanidine and clonidine"),),
    ),
    MedicineRule(
        key="drowsy-opioid",
        trigger=Trigger.DROWSINESS,
        classes=(_C.OPIOID,),
        action=Action.REVIEW,
        reason="Drowsiness comes before slow breathing: the next dose may be too much.",
        caution=_OTHER_CAUSES,
        monitor=_WATCH_DROWSY,
        sources=(cited.SEDATION_FIRST, _DROWSY_CHOICE),
        rank=Rank(1, "nothing else slows breathing so much, and naloxone tells"),
    ),
    MedicineRule(
        key="drowsy-sedative",
        trigger=Trigger.DROWSINESS,
        classes=(
            _C.BENZODIAZEPINE,
            _C.Z_DRUG,
            _C.BARBITURATE,
            _C.GABAPENTINOID,
            _C.PHENYTOIN,
            _C.BACLOFEN,
            _C.ANTIPSYCHOTIC,
            _C.SEDATING_ANTIHISTAMINE,
            _C.OTHER_SEDATIVE,
            _C.TRICYCLIC,
        ),
        action=Action.REVIEW,
        reason="It sedates and can confuse.",
        caution=_OTHER_CAUSES,
        monitor=_WATCH_DROWSY,
        sources=(_DROWSY_CHOICE, cited.memory("what sedates, in drowsiness and new confusion")),
        rank=Rank(2, "with an opioid it can end breathing"),
    ),
)
