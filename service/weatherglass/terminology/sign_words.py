"""Words that name a known sign or result, for codes that are not read.

Data, and no reading: nothing is scored by its words. They tell a sender, and a reader,
that a potassium or a breathing rate came in a code that this software does not know.
Words of other fluids, of aims and of fractions are left out, so that lactate dehydrogenase
or a urinary sodium raises no doubt.
"""

import re

from weatherglass.model.signals import CodedSignal, Signal

_LONGEST = 240

#: What is looked for, in this order where two begin at one place: the more exact first.
_SIGNS: tuple[tuple[Signal | CodedSignal, str], ...] = (
    (Signal.REPORTED_NEWS2, "news ?2?(?: total)? score|news ?2|(?:national )?early warning score"),
    (Signal.REPORTED_PAEDIATRIC_SCORE, "pews"),
    (Signal.RESPIRATION_RATE, "resp(?:iratory|iration)? rate|breathing rate|respirations|rr"),
    (Signal.SPO2, "(?:oxygen|o2) sat(?:uration|s)?|spo2|sao2|sats|pulse oximetry"),
    (Signal.OXYGEN_FLOW, "(?:oxygen|o2) flow(?: rate)?"),
    (Signal.FIO2, "fio2|(?:fraction of )?inspired oxygen|inhaled oxygen"),
    (
        CodedSignal.OXYGEN_DELIVERY,
        "(?:supplemental|on|delivery of) oxygen|oxygen (?:delivery|device|therapy)",
    ),
    (CodedSignal.CONSCIOUSNESS, "ac?vpu|(?:level of )?consciousness|conscious level|responsiveness"),
    (Signal.GCS_TOTAL, "glasgow coma|coma (?:scale|score)|gcs"),
    (Signal.MEAN_PRESSURE, "mean (?:arterial |blood )?(?:pressure|bp)|map"),
    (Signal.DIASTOLIC_PRESSURE, "diastolic|dbp"),
    (Signal.SYSTOLIC_PRESSURE, "systolic|sbp|blood pressure|arterial pressure|n?ibp|bp"),
    (Signal.PULSE, "heart rate|pulse(?! pressure)(?: rate)?|hr"),
    (Signal.TEMPERATURE, "temperature|temp"),
    (Signal.CAPILLARY_REFILL, "cap(?:illary)? refill(?: time)?|crt"),
    (Signal.CREATININE, "creatinine"),
    (Signal.POTASSIUM, "potassium"),
    (Signal.SODIUM, "sodium"),
    (Signal.UREA, "urea(?: nitrogen)?|bun"),
    (Signal.HAEMOGLOBIN, "ha?emoglobin|hgb|hb"),
    (Signal.PLATELETS, "platelets?|plt|thrombocytes?"),
    (Signal.WHITE_CELLS, "white (?:blood )?cells?|wbc|wcc|leu[ck]ocytes?"),
    (Signal.NEUTROPHILS, "neutrophils?"),
    (Signal.INR, "inr|international normali[sz]ed ratio"),
    (Signal.APTT, "a?ptt|activated partial thromboplastin"),
    (Signal.D_DIMER, "d dimer|fibrin d dimer"),
    (Signal.FIBRINOGEN, "fibrinogen"),
    (Signal.PROTHROMBIN_TIME, "prothrombin time"),
    (Signal.GLUCOSE, "glucose|blood sugar|cbg"),
    (Signal.CRP, "c reactive protein|crp"),
    (Signal.PROCALCITONIN, "procalcitonin"),
    (Signal.BILIRUBIN, "bilirubin"),
    (Signal.TROPONIN, "troponin"),
    (Signal.CREATINE_KINASE, "creatine kinase"),
    (Signal.LACTATE_DEHYDROGENASE, "lactate dehydrogenase|ldh"),
    (Signal.HAPTOGLOBIN, "haptoglobin"),
    (Signal.CORRECTED_QT, "qtc|corrected qt|q t interval corrected"),
    (Signal.CALCIUM_IONISED, "(?:ioni[sz]ed|free) calcium|calcium (?:ioni[sz]ed|free)"),
    (
        Signal.CALCIUM_ADJUSTED,
        "(?:adjusted|corrected) calcium|calcium (?:moles volume )?(?:adjusted|corrected)",
    ),
    (Signal.CALCIUM_TOTAL, "calcium"),
    (Signal.MAGNESIUM, "magnesium"),
    (Signal.PHOSPHATE, "phosphate|phosphorus"),
    (Signal.CHLORIDE, "chloride"),
    (Signal.ALBUMIN, "albumin"),
    (Signal.ALT, "alanine (?:amino)?transferase|alanine transaminase|alt|sgpt"),
    (Signal.AST, "aspartate (?:amino)?transferase|aspartate transaminase|ast|sgot"),
    (Signal.KETONES, "ketones?|(?:beta )?hydroxybutyrate"),
    (Signal.LACTATE, "lactate|lactic acid"),
    (Signal.PH_VENOUS, "venous ph|ph of venous blood"),
    (Signal.PH_ARTERIAL, "(?:arterial |blood )?ph"),
    (Signal.PCO2_ARTERIAL, "pa?co2|carbon dioxide partial pressure|partial pressure of carbon dioxide"),
    (Signal.PO2_ARTERIAL, "pa?o2|oxygen partial pressure|partial pressure of oxygen"),
    (Signal.BICARBONATE, "bicarbonate|hco3|t(?:otal )?co2|carbon dioxide total"),
    (Signal.BASE_EXCESS, "base (?:excess|deficit)"),
    (Signal.DIGOXIN_LEVEL, "digoxin"),
    (Signal.LITHIUM_LEVEL, "lithium"),
    (Signal.VANCOMYCIN_LEVEL, "vancomycin"),
    (Signal.GENTAMICIN_LEVEL, "gentamicin"),
    (Signal.TOBRAMYCIN_LEVEL, "tobramycin"),
    (Signal.PHENYTOIN_LEVEL, "phenytoin"),
    (Signal.TACROLIMUS_LEVEL, "tacrolimus"),
    (Signal.CICLOSPORIN_LEVEL, "c[iy]closporine?"),
    (Signal.THEOPHYLLINE_LEVEL, "theophylline|aminophylline"),
    (Signal.CARBAMAZEPINE_LEVEL, "carbamazepine"),
    (Signal.VALPROATE_LEVEL, "valproate|valproic acid"),
    (Signal.PHENOBARBITAL_LEVEL, "phenobarbit(?:al|one)"),
    (Signal.AMIKACIN_LEVEL, "amikacin"),
    (Signal.METHOTREXATE_LEVEL, "methotrexate"),
    (Signal.PARACETAMOL_LEVEL, "paracetamol|acetaminophen"),
    (Signal.SALICYLATE_LEVEL, "salicylates?"),
)
_URINE = "urine (?:output|volume)|urinary output|hourly urine|diuresis"
#: Another fluid, a fraction, an aim, a setting: not the sign that the word beside it names.
_OTHERWISE = re.compile(
    r"\b(?:urine|urinary|csf|cerebrospinal|dialysate|dialysis|stool|fa?ecal|saliva|sweat|hair|amniotic|pleural"
    r"|ascites|ascitic|synovial|peritoneal|cord|tissue|red cells?|erythrocytes?|corpuscular|mch|mchc|mpv"
    r"|mean volume|width|dehydrogenase|ldh|esterase|alkaline|mb|clearance|ratio|percent|percentage|fraction"
    r"|100|a1c|hba1c|glycated|glycosylated|carboxy|met|fetal|variability|pulmonary|central|intracranial"
    r"|ambient|room|skin|incubator|water|target|goal|aim|limit|alarm|setting|intake|dose|susceptib\w*"
    r"|resist\w*|antibod\w*|antigen|iga|igg|igm|gene|family|history|exertion|exercise|direct|indirect"
    r"|difference|foetal|mixed venous"
    r"|conjugated|unconjugated|average|tolerance|culture)\b"
)


def _rows() -> str:
    return "|".join(f"(?P<s{place}>{words})" for place, (_, words) in enumerate(_SIGNS))


_SIGN = re.compile(rf"\b(?:{_rows()})\b")
_URINE_SIGN = re.compile(rf"\b(?:{_URINE})\b")
#: Words between letters and figures; a plus or a slash is a space here.
_BETWEEN = re.compile(r"[^a-z0-9]+")
#: What a sign of arterial blood is in venous blood; oxygen of the one says nothing of the other.
_OF_A_VEIN: dict[Signal | CodedSignal, Signal | None] = {
    Signal.PH_ARTERIAL: Signal.PH_VENOUS,
    Signal.PCO2_ARTERIAL: Signal.PCO2_VENOUS,
    Signal.PO2_ARTERIAL: None,
    Signal.SPO2: None,
}
#: A ratio by its own name.
_RATIOS = frozenset({Signal.INR})


def sign_named_in(text: str) -> Signal | CodedSignal | None:
    """Return the sign that words name; None when they name none, or something beside it.

    Examples:
        >>> sign_named_in("Lactate (venous)").value, sign_named_in("K+ / Potassium, plasma").value
        ('lactate', 'potassium')
        >>> sign_named_in("Lactate dehydrogenase"), sign_named_in("Sodium, urine")
        (None, None)
    """
    words = _BETWEEN.sub(" ", text[:_LONGEST].casefold())
    if _URINE_SIGN.search(words):
        return Signal.URINE_VOLUME
    match = _SIGN.search(words)
    if match is None or match.lastgroup is None:
        return None
    sign = _SIGNS[int(match.lastgroup[1:])][0]
    if sign not in _RATIOS and _OTHERWISE.search(words):
        return None
    if "venous" in words and sign in _OF_A_VEIN:
        return _OF_A_VEIN[sign]
    return None if sign is Signal.PO2_ARTERIAL and "capillary" in words else sign
