"""Ceilings in the team's words: what they leave of a treatment. Invented sentences, our choice."""

import pytest

from weatherglass.facts.treatment_limits import Allowed, Treatment, allowed, of_words
from weatherglass.model.record import Directive, DirectiveKind
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
