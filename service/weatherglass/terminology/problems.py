"""Which diagnosis codes and words mean which condition.

ICD-10 is matched by prefix of the code without its dot, the longest prefix first, so
that an exception can stand beside its group. Where WHO's ICD-10 and the American
ICD-10-CM give one code two meanings, each has a table of its own.

Every ICD-10 row was compared with the printed titles of WHO's 2019 edition and of
ICD-10-CM, except the fifth characters of J96 in WHO's edition, which are from memory.
SNOMED CT codes are from memory, except where a comment says what confirmed them. A
code that is not listed means nothing here; its text is read instead.

Left out, with reasons:
    Dementia as long-standing confusion: new confusion must still count in dementia.
    Obesity hypoventilation as hypercapnic failure: it takes a blood gas to say so.
    I95 (hypotension) as a person's usual pressure: the chapter mixes acute and chronic.
    N25.1 (nephrogenic diabetes insipidus): desmopressin does not treat it.
    I51.3 (intracardiac thrombosis): it does not say which chamber.
"""

import re

from weatherglass.model.record import ConditionKind as Kind

ICD_10 = "http://hl7.org/fhir/sid/icd-10"
ICD_10_CM = "http://hl7.org/fhir/sid/icd-10-cm"

#: Spellings of the two systems seen in feeds; national editions follow WHO's.
ICD_10_SPELLINGS: dict[str, str] = {
    ICD_10: ICD_10,
    "https://hl7.org/fhir/sid/icd-10": ICD_10,
    "http://hl7.org/fhir/sid/icd-10-uk": ICD_10,
    "http://hl7.org/fhir/sid/icd-10-am": ICD_10,
    "http://fhir.de/CodeSystem/bfarm/icd-10-gm": ICD_10,
    "http://fhir.de/CodeSystem/dimdi/icd-10-gm": ICD_10,
    "urn:oid:2.16.840.1.113883.6.3": ICD_10,
    "ICD-10": ICD_10,
    ICD_10_CM: ICD_10_CM,
    "https://hl7.org/fhir/sid/icd-10-cm": ICD_10_CM,
    "urn:oid:2.16.840.1.113883.6.90": ICD_10_CM,
    "ICD-10-CM": ICD_10_CM,
}

_ICD_10_SHAPE = re.compile(r"[A-Z]\d", re.ASCII)


def _rows(*rows: tuple[str, tuple[Kind, ...]]) -> dict[str, frozenset[Kind]]:
    return {prefix: frozenset(kinds) for prefixes, kinds in rows for prefix in prefixes.split()}


#: Prefixes with one meaning in both classifications. An empty row is an exception to a wider one.
ICD_10_PREFIXES: dict[str, frozenset[Kind]] = _rows(
    ("J43 J44", (Kind.COPD,)),
    ("J45 J46", (Kind.ASTHMA,)),
    ("R071 R072 R073 R074", (Kind.CHEST_PAIN,)),
    ("S00 S01 S02 S03 S04 S06 S07 S08 S09", (Kind.HEAD_INJURY,)),
    ("W0 W10 W11 W12 W13 W14 W15 W16 W17 W18 W19", (Kind.FALL,)),
    ("N18", (Kind.CHRONIC_KIDNEY_DISEASE,)),
    ("Z992 Z49", (Kind.DIALYSIS,)),
    ("I50", (Kind.HEART_FAILURE,)),
    ("I110", (Kind.HEART_FAILURE, Kind.HYPERTENSION)),
    ("I130 I132", (Kind.HEART_FAILURE, Kind.HYPERTENSION, Kind.CHRONIC_KIDNEY_DISEASE)),
    ("I12 I13", (Kind.HYPERTENSION, Kind.CHRONIC_KIDNEY_DISEASE)),
    ("I10 I11 I15", (Kind.HYPERTENSION,)),
    ("I20 I23 I24 I25 Z951", (Kind.ISCHAEMIC_HEART_DISEASE,)),
    ("I200 I21 I22", (Kind.ISCHAEMIC_HEART_DISEASE, Kind.ACUTE_CORONARY_SYNDROME)),
    ("Z955", (Kind.ISCHAEMIC_HEART_DISEASE, Kind.CORONARY_STENT)),
    ("Z952", (Kind.MECHANICAL_VALVE,)),
    ("I48", (Kind.ATRIAL_FIBRILLATION,)),
    ("I63 I64 I69 G45", (Kind.STROKE,)),
    ("G454", ()),
    ("I60 I61", (Kind.STROKE, Kind.BLEEDING, Kind.INTRACRANIAL_BLEEDING)),
    ("I62", (Kind.BLEEDING, Kind.INTRACRANIAL_BLEEDING)),
    ("S064 S065 S066", (Kind.BLEEDING, Kind.HEAD_INJURY, Kind.INTRACRANIAL_BLEEDING)),
    ("I26 I801 I802 I803 I81 I82", (Kind.VENOUS_THROMBOEMBOLISM,)),
    ("E10", (Kind.DIABETES, Kind.DIABETES_TYPE_1)),
    ("E11", (Kind.DIABETES, Kind.DIABETES_TYPE_2)),
    ("E12 E13 E14", (Kind.DIABETES,)),
    ("O24", (Kind.DIABETES, Kind.PREGNANCY)),
    ("K70 K71 K72 K73 K74 K75 K76 B18", (Kind.LIVER_DISEASE,)),
    ("K760", ()),  # Fatty liver alone.
    ("K7682", (Kind.LIVER_DISEASE, Kind.ENCEPHALOPATHY)),
    ("G934", (Kind.ENCEPHALOPATHY,)),
    ("I85", (Kind.LIVER_DISEASE,)),
    ("I850", (Kind.LIVER_DISEASE, Kind.MELAENA, Kind.BLEEDING)),
    ("I8500", (Kind.LIVER_DISEASE,)),  # ICD-10-CM: without bleeding.
    ("A B J09 J10 J11 J20 J21 J22 J85 J86 U071", (Kind.INFECTION,)),
    ("J12 J13 J14 J15 J16 J17 J18 J100 J110", (Kind.INFECTION, Kind.PNEUMONIA)),
    ("E40 E41 E42 E43 E44 E45 E46 F500 R64 T730", (Kind.MALNUTRITION,)),
    ("B20 B21 B22 B23 B24 B90 B91 B92 B94", ()),
    ("N10 N300 N390 L03 K35 K65 K810 K830 G00 I33 M00 M86 T802 T814", (Kind.INFECTION,)),
    ("A46 L00 L02 L08 J01 J02 J03 J04 J05 N410 N45 N61 N71 N73 M462 M463 M464", (Kind.INFECTION,)),
    ("T793 T826 T827 T835 T845 T846 T847 T857 P23 P37 P38 P39", (Kind.INFECTION,)),
    ("J440", (Kind.COPD, Kind.INFECTION)),
    ("O23 O411 O753", (Kind.PREGNANCY, Kind.INFECTION)),
    ("O86", (Kind.POSTPARTUM, Kind.INFECTION)),
    ("O91", (Kind.POSTPARTUM, Kind.INFECTION)),
    ("D70", (Kind.NEUTROPENIA,)),
    ("Z511 Z542", (Kind.CHEMOTHERAPY,)),
    ("I46", (Kind.CARDIAC_ARREST,)),
    ("E05", (Kind.HYPERTHYROIDISM,)),
    ("E02 E03 E890", (Kind.HYPOTHYROIDISM,)),
    ("I441 I442 I443 I47 I490", (Kind.ARRHYTHMIA,)),
    ("T36 T37 T38 T39 T4 T50 X4 X6", (Kind.POISONING,)),
    ("O85", (Kind.SEPSIS, Kind.INFECTION, Kind.POSTPARTUM)),
    ("A40 A41 P36 A021 A227 A267 A327 A427 B377", (Kind.SEPSIS, Kind.INFECTION)),
    ("R572", (Kind.SEPSIS, Kind.INFECTION)),
    ("A09 A00 A01 A02 A03 A04 A05 A06 A07 A08", (Kind.VOMITING_OR_DIARRHOEA, Kind.INFECTION)),
    ("R11 K529", (Kind.VOMITING_OR_DIARRHOEA,)),
    ("R58 R04 D62 T810", (Kind.BLEEDING,)),
    # From the nose or into the urine; what only a microscope sees is none.
    ("R040 R31", (Kind.MINOR_BLEEDING,)),
    ("R311 R312", ()),
    ("O72", (Kind.BLEEDING, Kind.POSTPARTUM)),
    ("O441 O45 O46 O67", (Kind.BLEEDING, Kind.PREGNANCY)),
    ("K661 I312 H431 M250", (Kind.BLEEDING, Kind.CRITICAL_SITE_BLEEDING)),
    ("K920 K921 K922 K625", (Kind.MELAENA, Kind.BLEEDING)),
    (
        "K250 K252 K254 K256 K260 K262 K264 K266 K270 K272 K274 K276 K280 K282 K284 K286",
        (Kind.MELAENA, Kind.BLEEDING),
    ),
    ("Z33 Z34 Z35 O09 O00 O01 O02", (Kind.PREGNANCY,)),
    ("O1 O2 O3 O4 O60 O61 O62 O63 O64 O65 O66 O67 O68 O69 O70 O71 O98 O99", (Kind.PREGNANCY,)),
    ("O10 O11", (Kind.PREGNANCY, Kind.HYPERTENSION)),
    ("O14", (Kind.PREGNANCY, Kind.PREECLAMPSIA)),
    ("O15", (Kind.PREGNANCY, Kind.PREECLAMPSIA, Kind.SEIZURE, Kind.SEIZURES_GOING_ON)),
    # The end of a pregnancy opens the same six weeks as a birth.
    ("O03 O04 O05 O06 O07 O80 O81 O82 O83 O84 O87 O88 O89 O90 O92", (Kind.POSTPARTUM,)),
    ("Z37 Z39", (Kind.POSTPARTUM,)),
    ("E271 E272 E273 E274 E896", (Kind.ADRENAL_INSUFFICIENCY,)),
    ("G20", (Kind.PARKINSONS,)),
    ("G40", (Kind.EPILEPSY,)),
    ("G41", (Kind.EPILEPSY, Kind.SEIZURE, Kind.SEIZURES_GOING_ON)),
    ("R56", (Kind.SEIZURE,)),
    ("G700", (Kind.MYASTHENIA,)),
    ("Z940 Z941 Z942 Z943 Z944 T861 T862 T863 T864", (Kind.TRANSPLANT,)),
    ("Z515", (Kind.PALLIATIVE,)),
    ("F00 F01 F02 F03 G30", (Kind.DEMENTIA,)),
    ("G82 S140 S141 S240 S241 S340 S341 T913", (Kind.SPINAL_CORD_INJURY,)),
    ("E86 R571", (Kind.DEHYDRATION,)),
    ("E877 J81", (Kind.FLUID_OVERLOAD,)),
    ("N130 N131 N132 N133 N134 N135 N136 N138 N139 N320 R33", (Kind.URINARY_OBSTRUCTION,)),
    ("Z950", (Kind.PACEMAKER,)),
    ("C", (Kind.CANCER,)),
    ("C44", ()),  # Skin cancer other than melanoma.
    ("E232", (Kind.DIABETES_INSIPIDUS,)),
    ("F112", (Kind.OPIOID_DEPENDENCE,)),
    ("T780 T782 T805 T886", (Kind.ANAPHYLAXIS,)),
    ("F102", (Kind.ALCOHOL_DEPENDENCE,)),
    ("F1021", ()),  # In remission.
    ("F103 F104", (Kind.ALCOHOL_DEPENDENCE, Kind.ALCOHOL_WITHDRAWAL)),
)

#: WHO only: the fifth character of J96 says which type, R65.1 is severe sepsis.
ICD_10_WHO_PREFIXES: dict[str, frozenset[Kind]] = _rows(
    ("J9601 J9611 J9691", (Kind.HYPERCAPNIA,)),
    ("R651", (Kind.SEPSIS, Kind.INFECTION)),
    ("Z321", (Kind.PREGNANCY,)),
)

#: ICD-10-CM only.
ICD_10_CM_PREFIXES: dict[str, frozenset[Kind]] = _rows(
    ("J9602 J9612 J9622 J9692", (Kind.HYPERCAPNIA,)),
    ("R652 T8144", (Kind.SEPSIS, Kind.INFECTION)),
    ("D6861 D6862", (Kind.ANTIPHOSPHOLIPID,)),
    ("Z8673", (Kind.STROKE,)),
    ("E08 E09", (Kind.DIABETES,)),
    ("Z95810", (Kind.PACEMAKER,)),
    ("Z3A Z3201", (Kind.PREGNANCY,)),
    ("O094", (Kind.PREGNANCY,)),
    ("I851", (Kind.LIVER_DISEASE,)),
    ("I8501 I8511", (Kind.LIVER_DISEASE, Kind.MELAENA, Kind.BLEEDING)),
    ("F1121", ()),  # In remission.
    ("R110", ()),  # Nausea alone.
)

#: SNOMED CT, from memory unless a comment says what confirmed the code.
SNOMED_KINDS: dict[str, frozenset[Kind]] = _rows(
    ("13645005 195951007", (Kind.COPD,)),
    ("195967001 304527002 708038006 734904007", (Kind.ASTHMA,)),
    ("29857009", (Kind.CHEST_PAIN,)),
    ("82271004 127295002 110030002", (Kind.HEAD_INJURY,)),
    ("1912002 217082002", (Kind.FALL,)),
    # Stages confirmed by a public German research value set; 714152005 is stage 5 on dialysis.
    ("709044004 431855005 431856006 433144002 431857002 433146000", (Kind.CHRONIC_KIDNEY_DISEASE,)),
    ("46177005 700378005 700379002", (Kind.CHRONIC_KIDNEY_DISEASE,)),
    ("714152005", (Kind.CHRONIC_KIDNEY_DISEASE, Kind.DIALYSIS)),
    ("105502003", (Kind.DIALYSIS,)),
    ("84114007 42343007 88805009 48447003 56675007 703272007 446221000", (Kind.HEART_FAILURE,)),
    ("414545008 53741008 194828000 399211009 1755008", (Kind.ISCHAEMIC_HEART_DISEASE,)),
    (
        "22298006 57054005 394659003 401303003 401314000 4557003",
        (Kind.ISCHAEMIC_HEART_DISEASE, Kind.ACUTE_CORONARY_SYNDROME),
    ),
    ("49436004 5370000 282825002 440059007 440028005", (Kind.ATRIAL_FIBRILLATION,)),
    ("230690007 422504002 266257000 432504007", (Kind.STROKE,)),
    # 1386000, 274100004 and 21454007 seen in public code lists, 35486000 in one.
    ("1386000 274100004 21454007 35486000", (Kind.BLEEDING, Kind.INTRACRANIAL_BLEEDING)),
    ("59282003 128053003", (Kind.VENOUS_THROMBOEMBOLISM,)),
    ("46635009", (Kind.DIABETES, Kind.DIABETES_TYPE_1)),
    ("44054006", (Kind.DIABETES, Kind.DIABETES_TYPE_2)),
    ("73211009", (Kind.DIABETES,)),
    ("11687002", (Kind.DIABETES, Kind.PREGNANCY)),
    ("38341003 59621000", (Kind.HYPERTENSION,)),
    ("19943007 235856003 328383001 59927004", (Kind.LIVER_DISEASE,)),
    ("91302008 76571007", (Kind.SEPSIS, Kind.INFECTION)),
    (
        "68566005 128045006 40733004 840539006 45816000",
        (Kind.INFECTION,),
    ),
    ("233604007 385093006", (Kind.INFECTION, Kind.PNEUMONIA)),
    ("13920009", (Kind.LIVER_DISEASE, Kind.ENCEPHALOPATHY)),
    ("248325000 56882008", (Kind.MALNUTRITION,)),
    # 303011007 confirmed by a public value set.
    ("165517008 303011007", (Kind.NEUTROPENIA,)),
    ("409089005", (Kind.NEUTROPENIA, Kind.INFECTION)),
    ("410429000", (Kind.CARDIAC_ARREST,)),
    ("25569003 27885002 71908006", (Kind.ARRHYTHMIA,)),
    ("131148009", (Kind.BLEEDING,)),
    ("74474003 2901004 8765009 37372002 12063002", (Kind.MELAENA, Kind.BLEEDING)),
    ("77386006 72892002", (Kind.PREGNANCY,)),
    ("86569001 17369002", (Kind.POSTPARTUM,)),
    ("47821001", (Kind.POSTPARTUM, Kind.BLEEDING)),
    ("34801009", (Kind.PREGNANCY,)),
    ("398254007", (Kind.PREGNANCY, Kind.PREECLAMPSIA)),
    ("15938005", (Kind.PREGNANCY, Kind.PREECLAMPSIA, Kind.SEIZURE, Kind.SEIZURES_GOING_ON)),
    # 386584007, 737295003, 235856003 and 441509002 confirmed by public value sets.
    ("363732003 386584007", (Kind.ADRENAL_INSUFFICIENCY,)),
    ("49049000", (Kind.PARKINSONS,)),
    ("84757009", (Kind.EPILEPSY,)),
    # Seizures: from memory.
    ("91175000 41497008", (Kind.SEIZURE,)),
    ("230456007", (Kind.SEIZURE, Kind.SEIZURES_GOING_ON)),
    ("91637004", (Kind.MYASTHENIA,)),
    ("161665007 737295003", (Kind.TRANSPLANT,)),
    ("103735009", (Kind.PALLIATIVE,)),
    ("52448006 26929004 429998004", (Kind.DEMENTIA,)),
    ("90584004 11538006 60389000", (Kind.SPINAL_CORD_INJURY,)),
    ("34095006 28560003", (Kind.DEHYDRATION,)),
    ("422400008 62315008 25374005", (Kind.VOMITING_OR_DIARRHOEA,)),
    # Acute pulmonary oedema 40541001 confirmed by a public code list.
    ("21639008 19242006 40541001", (Kind.FLUID_OVERLOAD,)),
    ("7163005 43064006 267064002", (Kind.URINARY_OBSTRUCTION,)),
    ("441509002", (Kind.PACEMAKER,)),
    ("363346000", (Kind.CANCER,)),
    ("75544000", (Kind.OPIOID_DEPENDENCE,)),
    ("39579001", (Kind.ANAPHYLAXIS,)),
    # The thyroid: from memory.
    ("34486009 353295004", (Kind.HYPERTHYROIDISM,)),
    ("40930008", (Kind.HYPOTHYROIDISM,)),
    # Alcohol dependence, withdrawal and its delirium: from memory.
    ("66590003", (Kind.ALCOHOL_DEPENDENCE,)),
    ("85561006 8635005", (Kind.ALCOHOL_DEPENDENCE, Kind.ALCOHOL_WITHDRAWAL)),
)

#: Hypotension by code or words; with "long-standing" beside it, that pressure is usual.
#: SNOMED CT 45007003 is confirmed by public value sets; the others are ICD-10.
LOW_PRESSURE_CODES = frozenset({"45007003", "I95", "I950", "I958", "I959", "I9589"})
LOW_PRESSURE_WORDS = re.compile(r"\b(?:low blood pressure|hypotension|low bp)\b")
USUAL_WORDS = re.compile(
    r"\b(?:long[ -]standing|chronic|usual(?:ly)?|constitutional|baseline|always runs low|normal for)\b"
)

#: Kinds that stay with a person when the words say "history of".
LASTING: frozenset[Kind] = frozenset(Kind) - {
    Kind.HYPERCAPNIA,
    Kind.ACUTE_CORONARY_SYNDROME,
    Kind.VENOUS_THROMBOEMBOLISM,
    Kind.LV_THROMBUS,
    Kind.INFECTION,
    Kind.SEPSIS,
    Kind.PNEUMONIA,
    Kind.ENCEPHALOPATHY,
    Kind.MALNUTRITION,
    Kind.BLEEDING,
    Kind.MELAENA,
    Kind.INTRACRANIAL_BLEEDING,
    Kind.CRITICAL_SITE_BLEEDING,
    Kind.MINOR_BLEEDING,
    Kind.NOTHING_BY_MOUTH,
    Kind.PREGNANCY,
    Kind.POSTPARTUM,
    Kind.PREECLAMPSIA,
    Kind.DEHYDRATION,
    Kind.VOMITING_OR_DIARRHOEA,
    Kind.FLUID_OVERLOAD,
    Kind.URINARY_OBSTRUCTION,
    Kind.CANCER,
    Kind.OPIOID_DEPENDENCE,
    Kind.ANAPHYLAXIS,
    Kind.ALCOHOL_DEPENDENCE,
    Kind.ALCOHOL_WITHDRAWAL,
    Kind.DIALYSIS,
    Kind.CHEST_PAIN,
    Kind.HEAD_INJURY,
    Kind.FALL,
    Kind.NEUTROPENIA,
    Kind.CHEMOTHERAPY,
    Kind.POISONING,
    Kind.ARRHYTHMIA,
    Kind.CARDIAC_ARREST,
    Kind.SEIZURE,
    Kind.SEIZURES_GOING_ON,
}


def _words(pattern: str) -> re.Pattern[str]:
    return re.compile(rf"\b(?:{pattern})\b")


#: Plain words, matched in casefolded text after negated stretches are cut out.
WORDS: tuple[tuple[re.Pattern[str], frozenset[Kind]], ...] = tuple(
    (_words(pattern), frozenset(kinds))
    for pattern, kinds in (
        (r"copd|chronic obstructive (?:pulmonary|airways?|lung) disease|emphysema", (Kind.COPD,)),
        (r"asthma(?:tic)?", (Kind.ASTHMA,)),
        (r"(?:chest|cardiac|retrosternal|central chest) pain", (Kind.CHEST_PAIN,)),
        (
            (
                r"head (?:injury|trauma)|(?:traumatic )?brain injury|concussion|skull fracture|"
                r"(?:hit|struck|banged|knocked) (?:his |her |their |the )?head"
            ),
            (Kind.HEAD_INJURY,),
        ),
        (
            r"falls?(?! (?:risk|clinic|prevention|assess))|fell",
            (Kind.FALL,),
        ),
        (
            r"hypercapni[ac]|hypercarbi[ac]|type (?:2|ii|two) respiratory failure|t2rf|chronic co2 retention",
            (Kind.HYPERCAPNIA,),
        ),
        (
            (
                r"ckd(?: ?(?:stage )?[1-5][ab]?)?|chronic (?:kidney|renal) (?:disease|failure|impairment)|"
                r"end[ -]stage (?:kidney|renal) (?:disease|failure)|esrd|eskd"
            ),
            (Kind.CHRONIC_KIDNEY_DISEASE,),
        ),
        (r"(?:ha?emo|peritoneal )?dialysis(?: dependent)?", (Kind.DIALYSIS,)),
        (
            r"(?:heart|cardiac|ventricular) failure|lvf|ccf|chf|hfref|hfpef|hfmref|lvsd",
            (Kind.HEART_FAILURE,),
        ),
        (
            (
                r"isch[ae]{1,2}mic heart disease|ihd|coronary (?:artery|heart) disease|angina|"
                r"(?:old|previous) (?:mi|myocardial infarction)"
            ),
            (Kind.ISCHAEMIC_HEART_DISEASE,),
        ),
        (r"(?:coronary|drug[ -]eluting|bare[ -]metal) (?:artery )?stent", (Kind.CORONARY_STENT,)),
        (
            r"acute coronary syndrome|n?stemi|unstable angina|(?:acute )?myocardial infarction",
            (Kind.ACUTE_CORONARY_SYNDROME, Kind.ISCHAEMIC_HEART_DISEASE),
        ),
        (
            r"(?:mechanical|metallic|metal) (?:heart |aortic |mitral |prosthetic )*valve",
            (Kind.MECHANICAL_VALVE,),
        ),
        (r"atrial (?:fibrillation|flutter)|paf|a ?fib", (Kind.ATRIAL_FIBRILLATION,)),
        (
            (
                r"(?<!heat )stroke|cva(?! tenderness)|tia|transient isch[ae]{1,2}mic attack|"
                r"cerebral infarct(?:ion)?"
            ),
            (Kind.STROKE,),
        ),
        (
            (
                r"dvt|deep (?:vein|venous) thrombosis|pulmonary embol(?:ism|us)|vte|venous thromboembolism|"
                r"(?:acute|bilateral|massive|submassive|saddle|segmental|unprovoked|provoked|recurrent) pe"
            ),
            (Kind.VENOUS_THROMBOEMBOLISM,),
        ),
        (r"anti-?phospholipid (?:antibody )?syndrome|lupus anticoagulant", (Kind.ANTIPHOSPHOLIPID,)),
        (r"(?:lv|left ventricular) thrombus", (Kind.LV_THROMBUS,)),
        (
            r"type (?:1|i|one) diabetes(?: mellitus)?|t1dm?|insulin[ -]dependent diabetes",
            (Kind.DIABETES, Kind.DIABETES_TYPE_1),
        ),
        (r"type (?:2|ii|two) diabetes(?: mellitus)?|t2dm?", (Kind.DIABETES, Kind.DIABETES_TYPE_2)),
        (r"diabetes(?! insipidus)|diabetic", (Kind.DIABETES,)),
        (
            (
                r"(?<!pulmonary )(?<!portal )(?<!ocular )"
                r"(?:hypertension|hypertensive disorder)|htn|high blood pressure"
            ),
            (Kind.HYPERTENSION,),
        ),
        (
            (
                r"cirrhosis|chronic liver disease|liver failure|hepatic failure|"
                r"decompensated liver disease|alcoholic hepatitis"
            ),
            (Kind.LIVER_DISEASE,),
        ),
        (
            (
                r"pneumonia|urinary tract infection|uti|pyelonephritis|cellulitis|infection|meningitis|"
                r"peritonitis|cholangitis|endocarditis|osteomyelitis|septic arthritis|"
                r"cholecystitis|appendicitis|diverticulitis|abscess|empyema|necroti[sz]ing fasciitis|"
                r"covid(?:-19)?(?! vaccin)|influenza(?! vaccin)|infected|infective|chorioamnionitis|"
                r"endometritis|mastitis|erysipelas|bronchiolitis|epiglottitis|tonsillitis|quinsy|encephalitis|"
                r"discitis|septic|lrti|urosepsis|bacter(?:a?emia|iuria with symptoms)|iecopd"
            ),
            (Kind.INFECTION,),
        ),
        (
            r"(?:broncho)?pneumonia|(?:community|hospital)[ -]acquired pneumonia",
            (Kind.INFECTION, Kind.PNEUMONIA),
        ),
        (
            (
                r"(?<!subclinical )(?:hyperthyroidism|hyperthyroid|thyrotoxicosis)|thyroid storm|"
                r"graves'? disease"
            ),
            (Kind.HYPERTHYROIDISM,),
        ),
        (r"(?<!subclinical )(?:hypothyroidism|hypothyroid)|myxo?edema", (Kind.HYPOTHYROIDISM,)),
        (r"hepatic encephalopathy|portosystemic encephalopathy", (Kind.LIVER_DISEASE, Kind.ENCEPHALOPATHY)),
        (r"encephalopathy", (Kind.ENCEPHALOPATHY,)),
        (
            (
                r"malnutrition|malnourished|under-?nutrition|anorexia nervosa|starvation|refeeding|"
                r"poor (?:oral |dietary |nutritional )?intake|not (?:eating|eaten)|"
                r"(?:little|no|minimal|negligible) (?:oral |dietary |nutritional )?intake"
            ),
            (Kind.MALNUTRITION,),
        ),
        (r"(?:uro)?sepsis|septic(?:a?emia| shock)", (Kind.SEPSIS, Kind.INFECTION)),
        (
            (
                r"(?<!gum )(?<!gums )(?<!nose )bleed(?:ing)?"
                r"(?! (?:disorder|diathesis|tendency|risk|time|gums?))|ha?emorrhage|ha?ematoma"
            ),
            (Kind.BLEEDING,),
        ),
        (
            (
                r"epistaxis|nose-?bleeds?|nose bleed(?:s|ing)?|bleeding gums?|gum bleed(?:s|ing)?|"
                r"(?<!microscopic )(?<!nonvisible )(?<!invisible )ha?ematuria|"
                r"blood in (?:the )?urine"
            ),
            (Kind.MINOR_BLEEDING,),
        ),
        (r"nil by mouth|nil per os|nothing by mouth|nbm|npo", (Kind.NOTHING_BY_MOUTH,)),
        (
            (
                r"(?:sub-?dural|extra-?dural|epidural|sub-?arachnoid|intra-?cerebral|intra-?cranial|"
                r"intra-?ventricular|intra-?parenchymal|cerebral|cerebellar|brain ?stem|brain|pontine) "
                r"(?:ha?emorrhages?|ha?ematomas?|bleed(?:ing)?|clot)|ha?emorrhagic stroke|sdh|sah"
            ),
            (Kind.BLEEDING, Kind.INTRACRANIAL_BLEEDING),
        ),
        (
            (
                r"(?:retro-?peritoneal|(?:intra-?)?spinal|intra-?ocular|vitreous|pericardial|"
                r"intra-?articular) (?:ha?emorrhage|ha?ematoma|bleed(?:ing)?)|"
                r"ha?emopericardium|ha?emarthrosis"
            ),
            (Kind.BLEEDING, Kind.CRITICAL_SITE_BLEEDING),
        ),
        (
            (
                r"mela?ena|ha?ematemesis|(?:gi|gastro-?intestinal|upper gi|lower gi|variceal) "
                r"(?:bleed(?:ing)?|ha?emorrhage)|"
                r"vomit(?:s|ed|ing)?(?: up)?(?: fresh)? blood(?! (?:glucose|sugar|pressure|test|result))|"
                r"blood(?:y|[- ]stained)? vomit(?:us|ing)?|coffee[- ]grounds?|"
                r"(?:black|tarry|black,? tarry|black,? sticky) (?:stools?|motions?)"
            ),
            (Kind.MELAENA, Kind.BLEEDING),
        ),
        (
            (
                r"(?<!termination of )pregnan(?:t|cy)(?! test)|weeks gestation|gravid|antenatal|"
                r"ante-?partum|intra-?partum|chorioamnionitis|hyperemesis gravidarum|"
                r"(?:in|spontaneous|active|established|pre-?term|threatened|obstructed|induction of|induced|"
                r"onset of) labou?r|placenta(?:l)? (?:praevia|previa|abruption)|abruptio placentae"
            ),
            (Kind.PREGNANCY,),
        ),
        (
            (
                r"post-?partum|post-?natal|puerper(?:ium|al)|pph|"
                r"(?<!previous )(?<!elective )(?<!planned )(?<!for )(?:caesarean|cesarean|lscs)(?! (?:"
                r"planned|booked|requested|scar))|(?<!previous )(?:normal|"
                r"spontaneous|assisted|forceps|ventouse|instrumental|vaginal) (?:vaginal )?"
                r"(?:delivery|birth)|"
                r"(?<!recurrent )(?<!previous )miscarriage|termination of pregnancy|stillbirth|"
                r"retained (?:products of conception|placenta)|obstetric ha?emorrhage"
            ),
            (Kind.POSTPARTUM,),
        ),
        (
            r"pph|(?:ante|intra|post)-?partum ha?emorrhage|placental abruption|abruptio placentae",
            (Kind.BLEEDING,),
        ),
        (r"pre-?eclampsia|eclampsia", (Kind.PREECLAMPSIA,)),
        (
            r"adrenal (?:insufficiency|failure)|addison'?s(?: disease)?|hypoadrenalism",
            (Kind.ADRENAL_INSUFFICIENCY,),
        ),
        (r"parkinson'?s(?: disease)?|parkinson disease", (Kind.PARKINSONS,)),
        (r"epilepsy|status epilepticus|seizure disorder", (Kind.EPILEPSY,)),
        (
            (
                r"seizures?(?! disorder)|convulsions?|fitting(?! well)|tonic[- ]clonic|status epilepticus|"
                r"(?<!pre-)(?<!pre)eclampsia|(?:a|one|two|three|several|febrile) fits?"
            ),
            (Kind.SEIZURE,),
        ),
        (
            (
                r"status epilepticus|(?<!pre-)(?<!pre)eclampsia|(?:still|keeps|now) fitting|"
                r"(?:ongoing|repeated|recurrent|prolonged|continuous|several|two|three) "
                r"(?:[\w-]+ )?(?:seizures?|fits?|convulsions?)"
            ),
            (Kind.SEIZURES_GOING_ON,),
        ),
        (r"myasthenia(?: gravis)?", (Kind.MYASTHENIA,)),
        (r"(?:renal|kidney|liver|heart|lung|pancreas) transplant(?:ation)?", (Kind.TRANSPLANT,)),
        (r"palliative(?: care)?", (Kind.PALLIATIVE,)),
        (r"(?:chronic|long[ -]standing|baseline) confusion", (Kind.CHRONIC_CONFUSION,)),
        (r"dementia|alzheimer'?s(?: disease)?", (Kind.DEMENTIA,)),
        (
            r"spinal cord injury|tetraplegia|quadriplegia|paraplegia",
            (Kind.SPINAL_CORD_INJURY,),
        ),
        (r"dehydrat(?:ion|ed)|hypovola?emia|volume depletion", (Kind.DEHYDRATION,)),
        (r"vomiting|diarrh(?:o?ea)|gastroenteritis", (Kind.VOMITING_OR_DIARRHOEA,)),
        (r"fluid overload|hypervola?emia|pulmonary o?edema", (Kind.FLUID_OVERLOAD,)),
        (
            (
                r"(?:urinary|ureteric|bladder outflow|bladder outlet) (?:tract )?obstruction|"
                r"hydronephrosis|urinary retention|obstructive uropathy"
            ),
            (Kind.URINARY_OBSTRUCTION,),
        ),
        (r"pacemaker|ppm in situ", (Kind.PACEMAKER,)),
        (r"neutropeni[ac]|agranulocytosis", (Kind.NEUTROPENIA,)),
        (r"neutropenic (?:fever|pyrexia)|febrile neutropenia", (Kind.INFECTION,)),
        (r"chemotherapy(?! (?:declined|planned|refused|induced nausea))", (Kind.CHEMOTHERAPY,)),
        (r"overdose|poisoning|toxicity|intoxication|toxidrome", (Kind.POISONING,)),
        (r"cardiac arrest|cardiopulmonary arrest", (Kind.CARDIAC_ARREST,)),
        (
            (
                r"ventricular tachycardia|ventricular fibrillation|supraventricular tachycardia|svt|vt|"
                r"(?:complete|third degree|second degree|2:1) (?:heart|av) block|asystole|torsades?"
            ),
            (Kind.ARRHYTHMIA,),
        ),
        (
            (
                r"(?:cancer|carcinoma|"
                r"malignan(?:cy|t)(?! (?:hypertension|hyperthermia|otitis|hyperpyrexia))|"
                r"lymphoma|leuka?emia|myeloma|metasta(?:sis|ses|tic))"
            ),
            (Kind.CANCER,),
        ),
        (
            r"(?:cranial |central )?diabetes insipidus|arginine vasopressin deficiency|avp-d",
            (Kind.DIABETES_INSIPIDUS,),
        ),
        (r"opioid (?:dependence|dependency|use disorder)", (Kind.OPIOID_DEPENDENCE,)),
        (r"anaphyla(?:xis|ctic (?:shock|reaction)|ctoid reaction)", (Kind.ANAPHYLAXIS,)),
        (r"alcohol(?: dependence| dependency| use disorder|ism)", (Kind.ALCOHOL_DEPENDENCE,)),
        (
            r"alcohol withdrawal|delirium tremens|withdrawal from alcohol",
            (Kind.ALCOHOL_DEPENDENCE, Kind.ALCOHOL_WITHDRAWAL),
        ),
        (
            r"(?:chronic|long[ -]standing|usual(?:ly)?) (?:hypotension|low blood pressure)",
            (Kind.LOW_PRESSURE_IS_USUAL,),
        ),
    )
)


def icd_10_edition(system: str) -> str | None:
    """Return which of the two classifications a system is, or None."""
    known = ICD_10_SPELLINGS.get(system)
    if known is None and system.startswith(ICD_10):
        return ICD_10_CM if system.startswith(ICD_10_CM) else ICD_10
    return known


def kinds_of_icd_10(code: str, system: str) -> frozenset[Kind] | None:
    """Return what an ICD-10 code means; `system` is one of the two addresses above.

    None is a code that no row covers; an empty set is one that means none of our kinds
    although its words might suggest one.

    Examples:
        >>> sorted(kinds_of_icd_10("J96.01", ICD_10))
        [<ConditionKind.HYPERCAPNIA: 'hypercapnic respiratory failure'>]
        >>> kinds_of_icd_10("J96.01", ICD_10_CM) is None
        True
    """
    bare = code.replace(".", "").upper().rstrip("+*!")
    if not _ICD_10_SHAPE.match(bare):
        return None
    own = ICD_10_CM_PREFIXES if system == ICD_10_CM else ICD_10_WHO_PREFIXES
    for length in range(len(bare), 0, -1):
        prefix = bare[:length]
        found = own.get(prefix)
        if found is None:
            found = ICD_10_PREFIXES.get(prefix)
        if found is not None:
            return found
    return None
