"""Ceilings in the team's words: what they leave of a treatment. Invented sentences, our choice."""

import pytest

from weatherglass.facts.treatment_limits import Allowed, Treatment, allowed, of_words
from weatherglass.model.record.care import Directive, DirectiveKind
from weatherglass.model.sources import Origin

NIV, ICU = Treatment.NON_INVASIVE_VENTILATION, Treatment.INTENSIVE_CARE
NO, YES, OPEN = Allowed.EXCLUDED, Allowed.YES, Allowed.NOT_NAMED


@pytest.mark.parametrize(
    ("text", "niv", "icu"),
    [
        ("Not for non-invasive ventilation", NO, OPEN),
        ("Not for NIV", NO, OPEN),
        ("Ward-based care; not for intensive care or NIV", NO, NO),
        ("Not for ITU, intubation or NIV.", NO, NO),
        ("Not for ventilation or renal replacement", NO, OPEN),
        ("Not for invasive ventilation", OPEN, NO),
        ("Not for intubation, for NIV", YES, NO),
        ("For NIV but not for ITU", YES, NO),
        ("NIV is the ceiling of care", YES, NO),
        ("Ceiling of care: NIV on the ward", YES, OPEN),
        ("NIV not appropriate", NO, OPEN),
        ("NIV: no. HDU: no.", NO, NO),
        ("Declines CPAP and BiPAP", NO, OPEN),
        ("Ward level care only", OPEN, NO),
        ("Not for escalation beyond the ward", OPEN, NO),
        ("Comfort care only", NO, NO),
        ("Do not intubate", OPEN, NO),
        ("Not a candidate for critical care", OPEN, NO),
        ("For critical care if needed", OPEN, YES),
        ("Oral antibiotics only", OPEN, OPEN),
        ("", OPEN, OPEN),
    ],
)
def test_words(text: str, niv: Allowed, icu: Allowed) -> None:
    assert (of_words(text, NIV), of_words(text, ICU)) == (niv, icu)


def _directive(kind: DirectiveKind, text: str = "") -> Directive:
    return Directive(origin=Origin(f"Consent/{text}"), kind=kind, text=text)


def test_decisions() -> None:
    """The strictest holds; the last days of life exclude, resuscitation says nothing of it."""
    assert allowed([], NIV) is Allowed.NOT_LIMITED
    assert allowed([_directive(DirectiveKind.RESUSCITATION)], NIV) is Allowed.NOT_LIMITED
    assert allowed([_directive(DirectiveKind.END_OF_LIFE)], NIV) is NO
    both = [
        _directive(DirectiveKind.CEILING, "For NIV"),
        _directive(DirectiveKind.CEILING, "Ward-based care"),
    ]
    assert allowed(both, NIV) is allowed(both[::-1], NIV) is YES
    assert allowed([*both, _directive(DirectiveKind.CEILING, "Not for NIV")], NIV) is NO


_ANTIMICROBIALS = Treatment.ANTIMICROBIALS


@pytest.mark.parametrize(
    ("text", "left"),
    [
        ("Not for antibiotics", NO),
        ("Not for IV antibiotics", OPEN),
        ("Not for IV antibiotics; oral antibiotics only", YES),
        ("Not for CPR; for antibiotics and oxygen", YES),
        ("Comfort care only", NO),
        ("Ward-based care", OPEN),
    ],
)
def test_antimicrobials(text: str, left: Allowed) -> None:
    """What is refused by vein may still be given by mouth."""
    assert of_words(text, _ANTIMICROBIALS) is left


def test_a_refusal_limits_what_it_names_and_nothing_else() -> None:
    """An advance decision binds for what it says: Mental Capacity Act 2005, section 24 (from memory)."""
    mine = _directive(DirectiveKind.ADVANCE_DIRECTIVE, "I refuse ventilation of any kind, also by mask")
    assert allowed([mine], NIV) is NO
    refused = [_directive(DirectiveKind.ADVANCE_DIRECTIVE, "Advance decision: refuses antibiotics")]
    assert allowed(refused, _ANTIMICROBIALS) is NO
    assert allowed(refused, NIV) is Allowed.NOT_LIMITED
    blood = [_directive(DirectiveKind.ADVANCE_DIRECTIVE, "Refuses blood products")]
    assert allowed(blood, _ANTIMICROBIALS) is Allowed.NOT_LIMITED
    vented = [_directive(DirectiveKind.ADVANCE_DIRECTIVE, "Advance decision: refuses ventilation and ICU")]
    assert allowed(vented, NIV) is allowed(vented, ICU) is NO
