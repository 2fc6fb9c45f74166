"""A caution stands where it fits: at this medicine, and in this form.

Which words name which medicine is checked against the list of international names; what
belongs together otherwise is common knowledge of pharmacology, from memory.
"""

import re
from collections.abc import Iterator
from typing import Any

import pytest

from tests.medicines.wards import injury, order, problem, result, reviewed, suggestions
from tests.records import Json, alertness
from weatherglass.knowledge.medicines.ingredients import INGREDIENTS, Ingredient
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.medicines.rules.forms import Form
from weatherglass.knowledge.medicines.rules.rule import Caution, MedicineRule
from weatherglass.knowledge.medicines.rules.rules import RULES

C = MedicineClass
_ALL_FORMS = frozenset(Form)
#: Named beside another medicine on purpose: what is given for it, or what to look for.
_GIVEN_BESIDE = frozenset(
    {"naloxone", "flumazenil", "folinic", "potassium", "oxygen", "glucose", "heparin", "calcium"}
)
_NAMES = {
    row.name: re.compile(rf"\b{re.escape(row.name.split()[0])}\b", re.IGNORECASE)
    for row in INGREDIENTS
    if row.name.split()[0]
    # What a chart calls a low molecular weight heparin; a sodium is a result.
    not in ("insulin", "choline", "low", "sodium")
}


def _of(rule: MedicineRule) -> list[Ingredient]:
    """Return the ingredients that a rule speaks of."""
    return [
        row
        for row in INGREDIENTS
        if not set(rule.classes).isdisjoint(row.classes) and set(rule.but_not).isdisjoint(row.classes)
    ]


def _fits(caution: Caution, row: Ingredient, forms: frozenset[Form] = _ALL_FORMS) -> bool:
    return caution.fits({key.value for key in row.classes}, (row.name,), forms)


def _special() -> Iterator[Any]:
    for rule in RULES:
        for place, caution in enumerate(rule.only_for):
            yield pytest.param(rule, caution, id=f"{rule.key}-{place}")


@pytest.mark.parametrize(("rule", "caution"), list(_special()))
def test_some_and_not_all(rule: MedicineRule, caution: Caution) -> None:
    """What a caution is kept for is among the rule's medicines, and is not simply all of them."""
    rows = _of(rule)
    fitting = [row for row in rows if _fits(caution, row)]
    assert fitting
    assert caution.forms or len(fitting) < len(rows)
    if caution.forms:
        assert not any(_fits(caution, row, frozenset()) for row in rows)


@pytest.mark.parametrize(
    "rule", [rule for rule in RULES if rule.caution or rule.only_for], ids=lambda r: r.key
)
def test_no_medicine_is_named_at_another(rule: MedicineRule) -> None:
    """Dabigatran is not spoken of at enoxaparin, in any caution of any rule."""
    for row in _of(rule):
        said = " ".join([*rule.caution, *(each.text for each in rule.only_for if _fits(each, row))])
        named = {name.split()[0] for name, word in _NAMES.items() if word.search(said)} - _GIVEN_BESIDE
        others = {name for name in named if name not in row.name}
        assert not others, (row.name, said)


def _cautions(*resources: Json) -> str:
    (found,) = suggestions(reviewed(*resources)).values()
    return " ".join(found.cautions)


@pytest.mark.parametrize(
    ("resources", "name", "atc", "said", "never"),
    [
        (
            injury(1),
            "Enoxaparin 40 mg",
            "B01AB05",
            "Low-molecular-weight heparin needs less",
            "(?i)dabigatran",
        ),
        (
            injury(1),
            "Dabigatran 150 mg",
            "B01AE07",
            "Dabigatran is contraindicated",
            "(?i)fondaparinux|heparin",
        ),
        (injury(1), "Apixaban 5 mg", "B01AF02", "without cover", "(?i)dabigatran|fondaparinux|heparin"),
        ([result("K", "5.7")], "Trimethoprim 200 mg", "J01EA01", "", "beta-blocker|transplant|anticoagulant"),
        ([result("K", "5.7")], "Ibuprofen 400 mg", "M01AE01", "", "beta-blocker|transplant|anticoagulant"),
        ([result("K", "5.7")], "Propranolol 40 mg", "C07AA05", "the beta-blocker they need", "transplant"),
        ([result("K", "5.7")], "Enoxaparin 40 mg", "B01AB05", "the anticoagulant they need", "transplant"),
        (
            [result("K", "5.7")],
            "Tacrolimus 1 mg",
            "L04AD02",
            "the transplant medicine they need",
            "beta-blocker",
        ),
        ([result("SBP", "92")], "Doxazosin 4 mg", "C02CA04", "", "angina|heart rate"),
        ([result("SBP", "92")], "Amlodipine 5 mg", "C08CA01", "angina", "heart rate"),
        ([result("SBP", "92")], "Diltiazem 60 mg", "C08DB01", "angina or a heart rate", "nitrate"),
        ([result("HR", "38")], "Amiodarone 200 mg", "C01BD01", "acts for weeks", "flecainide"),
        ([result("HR", "38")], "Flecainide 100 mg", "C01BC04", "Ask cardiology", "(?i)amiodarone"),
        ([result("HR", "38")], "Ivabradine 5 mg", "C01EB17", "", "(?i)verapamil"),
        (injury(1), "Ibuprofen 400 mg", "M01AE01", "another analgesic", "aspirin"),
        (injury(1), "Atenolol 50 mg", "C07AB03", "The kidney clears it.", "in part"),
        (injury(1), "Colistin 1 MU", "J01XB01", "", "lipid"),
        (injury(1), "Amphotericin B 50 mg", "J02AA01", "A lipid formulation", "polymyxin"),
    ],
)
def test_each_medicine_has_its_own(resources: list[Json], name: str, atc: str, said: str, never: str) -> None:
    """What is said of one medicine of a rule is not said of another."""
    cautions = _cautions(*resources, order(name, atc))
    assert said in cautions
    assert not re.search(never, cautions)


class TestForms:
    """A patch leaves a depot, a tablet has none."""

    DROWSY = (result("RR", "8"), alertness("pain"))

    @pytest.mark.parametrize(
        ("name", "atc", "rest", "is_patch"),
        [
            ("Morphine 10 mg tablets", "N02AA01", {}, False),
            ("Fentanyl 25 micrograms/hour transdermal patches", "N02AB03", {}, True),
            (
                "Buprenorphine 10 micrograms/hour",
                "N02AE01",
                {"dosageInstruction": [{"text": "1 patch"}]},
                True,
            ),
            ("Fentanyl", "N02AB03", {"dosageInstruction": [{"route": {"text": "transdermal"}}]}, True),
        ],
    )
    def test_patch(self, name: str, atc: str, rest: Json, is_patch: bool) -> None:
        """A patch is told of where the name, the dose or the route shows one."""
        assert ("patch off" in _cautions(*self.DROWSY, order(name, atc, **rest))) is is_patch

    @pytest.mark.parametrize(
        ("name", "is_slow"),
        [
            ("Morphine sulfate 30 mg modified-release tablets", True),
            ("Morphine sulfate 10 mg tablets", False),
        ],
    )
    def test_slow_release(self, name: str, is_slow: bool) -> None:
        """In kidney injury a slow-release form is the one that goes on building up."""
        assert ("long-acting form" in _cautions(*injury(1), order(name, "N02AA01"))) is is_slow

    @pytest.mark.parametrize(
        ("name", "atc", "said"),
        [("Co-careldopa tablets", "N04BA02", True), ("Rotigotine 4 mg/24 hours patches", "N04BC09", False)],
    )
    def test_swallowing(self, name: str, atc: str, said: bool) -> None:
        """What is not swallowed needs no other way when swallowing fails."""
        found = _cautions(*injury(1), problem("Parkinson's disease"), order(name, atc))
        assert ("If swallowing fails" in found) is said

    def test_methadone_outlasts_naloxone(self) -> None:
        """It is said of methadone, and of morphine it is not."""
        rule = next(rule for rule in RULES if rule.key == "reversed-opioid")
        rows = {row.name: row for row in _of(rule)}
        texts = {
            n: [c.text for c in rule.only_for if _fits(c, rows[n], frozenset())]
            for n in ("methadone", "morphine")
        }
        assert texts == {
            "methadone": ["Methadone outlasts naloxone by far: watch for longer than 6 hours."],
            "morphine": [],
        }


def test_vomited_tablet() -> None:
    """Hydrocortisone by injection is not vomited."""
    long_term = {"authoredOn": "2026-01-02T09:00:00+04:00"}
    ill = problem("Vomiting", since="2026-02-28")
    tablets = _cautions(ill, order("Prednisolone 5 mg tablets", "H02AB06", **long_term))
    route = {"dosageInstruction": [{"route": {"text": "intravenous"}}]}
    injection = _cautions(ill, order("Hydrocortisone 100 mg injection", "H02AB09", **long_term, **route))
    assert "A tablet that is vomited does not count." in tablets
    assert "vomited" not in injection


def test_risk_is_not_said_again_as_a_caution() -> None:
    """What sudden omission of a beta-blocker or a sedative brings stands under its own label, once."""
    slow = suggestions(reviewed(result("HR", "38"), order("Bisoprolol 5 mg", "C07AB07")))["bisoprolol"]
    assert "angina" in slow.do_not_stop
    assert not any("angina" in caution for caution in slow.cautions)
    drowsy = reviewed(result("RR", "8"), order("Diazepam 5 mg", "N05BA01"))
    sedated = suggestions(drowsy)["diazepam"]
    assert "withdrawal seizures" in sedated.do_not_stop
    assert not any("misses doses" in caution for caution in sedated.cautions)


def test_a_caution_for_everything_is_refused() -> None:
    """A caution that holds for every medicine of a rule is the rule's own."""
    with pytest.raises(ValueError, match="does not say what it holds for"):
        Caution(text="Made up.")


@pytest.mark.parametrize(
    ("name", "atc", "said", "never"),
    [
        ("Enoxaparin 40 mg", "B01AB05", "clot a valve", "stent"),
        ("Clopidogrel 75 mg", "B01AC04", "clot a stent", "valve"),
    ],
)
def test_risk_of_omission(name: str, atc: str, said: str, never: str) -> None:
    """A stent is kept open by antiplatelets, a valve by anticoagulants."""
    (found,) = suggestions(reviewed(result("platelets", "40"), order(name, atc))).values()
    assert said in found.do_not_stop
    assert never not in found.do_not_stop


@pytest.mark.parametrize("named", ["Alcohol withdrawal", "Delirium tremens", ""])
def test_a_benzodiazepine_may_be_the_treatment(named: str) -> None:
    """Common practice, no source: in alcohol withdrawal new confusion can mean too little of it."""
    problems = [problem(named)] if named else []
    answer = reviewed(
        *problems, alertness("new-confusion"), order("Chlordiazepoxide 25 mg capsules", "N05BA02")
    )
    (found,) = (one for one in suggestions(answer).values() if "Chlordiazepoxide" in one.medicine)
    assert ("It treats alcohol withdrawal" in found.risk_if_stopped) is bool(named)
    assert ("long-term user" in found.risk_if_stopped) is not bool(named)
