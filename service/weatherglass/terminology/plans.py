"""Codes of recorded decisions about treatment.

Resuscitation codes: SNOMED CT 304251008 with its two answers and the older pair of
findings are used by national summary records and a public emergency-record guide;
LOINC 100822-6 with LA33470-8 and LA33471-6, and 100823-4 with its three answers, by the
public portable-medical-order guide. What somebody wishes for (75773-2, 81376-6, 81378-2: goals, preferences
and priorities, from memory) is a plan in words.
"""

from weatherglass.model.record.care import DirectiveKind, Resuscitation

RESUSCITATION_ANSWERS: dict[str, Resuscitation] = {
    "450475007": Resuscitation.FOR,
    "450476008": Resuscitation.NOT_FOR,
    "304252001": Resuscitation.FOR,
    "304253006": Resuscitation.NOT_FOR,
    "LA33470-8": Resuscitation.FOR,
    "LA33471-6": Resuscitation.NOT_FOR,
    "DNR": Resuscitation.NOT_FOR,  # HL7 version 2, table 0435.
}
#: The act itself: what is ordered, forbidden or consented to. In public value sets and consents.
RESUSCITATION_ACTS = frozenset({"89666000", "439569004", "100822-6"})
#: Types of a document; the last three (advance directives, own care plan, portable order) from memory.
ADVANCE_DIRECTIVE_CODES = frozenset({"45473-6", "75320-2", "acd", "polst", "42348-3", "81334-5", "93037-0"})
CONSENT_DO_NOT_RESUSCITATE = "dnr"
CONSENT_SCOPE_ADVANCE = "adr"

#: LOINC 100823-4, initial treatment orders.
TREATMENT_ANSWERS: dict[str, DirectiveKind] = {
    "LA33473-2": DirectiveKind.FULL_TREATMENT,
    "LA33474-0": DirectiveKind.CEILING,
    "LA33475-7": DirectiveKind.CEILING,
}
#: The words LOINC prints for these answers, where the record brings none.
TREATMENT_WORDS: dict[str, str] = {
    "LA33473-2": "Full treatments",
    "LA33474-0": "Selective treatments",
    "LA33475-7": "Comfort-focused treatments",
}

#: SNOMED CT: dying care, terminal care. In public palliative-care value sets.
END_OF_LIFE_CODES = frozenset({"385736008", "182964004"})

#: What a goal's measure or an order is when it sets a saturation target.
SATURATION_CODES = frozenset(
    {"59408-5", "2708-6", "20564-1", "431314004", "442476006", "103228002", "oxygen-target"}
)
OXYGEN_ORDER_CODES = frozenset({"57485005"})  # SNOMED CT, oxygen therapy. In public profiles.

YES_CODES = frozenset({"373066001", "Y", "LA33-6", "true", "yes"})
NO_CODES = frozenset({"373067005", "N", "LA32-8", "false", "no"})
