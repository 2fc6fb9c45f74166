"""The tables of medicine classes and ingredients agree with themselves and with their code systems.

Outside lists of the same codes are compared in `test_medicine_codes_elsewhere`.
"""

import re

import pytest

from weatherglass.knowledge.medicines.class_codes import (
    CLASSES,
    LOCAL_ATC_PREFIXES,
    SYSTEMIC_DESPITE_LOCAL_ATC,
    classes_of,
)
from weatherglass.knowledge.medicines.ingredients import BY_NAME, COMPOUND_NAMES, INGREDIENTS
from weatherglass.knowledge.medicines.medicine_classes import (
    LOCAL_ROUTES,
    SYSTEMIC_BY_LOCAL_ROUTE,
    MedicineClass,
    acts_locally,
)
from weatherglass.knowledge.medicines.name_words import NOT_AN_INGREDIENT
from weatherglass.model.record.medicines import Route
from weatherglass.model.sources import Mark

_ATC = re.compile(r"[A-Z]\d{2}[A-Z]{2}\d{2}")
_ATC_PREFIX = re.compile(r"[A-Z](\d{2}([A-Z]([A-Z](\d{2})?)?)?)?")

# The dihedral group D5 and the permutation of J. Verhoeff, Error detecting decimal codes, 1969,
# as SNOMED International prints them in the specification of the SNOMED CT identifier (from memory).
_D5 = (
    "0123456789",
    "1234067895",
    "2340178956",
    "3401289567",
    "4012395678",
    "5987604321",
    "6598710432",
    "7659821043",
    "8765932104",
    "9876543210",
)
_PERMUTATION = (
    "0123456789",
    "1576283094",
    "5803796142",
    "8916043527",
    "9453126870",
    "4286573901",
    "2793806415",
    "7046913258",
)


def _passes_verhoeff(digits: str) -> bool:
    check = 0
    for place, digit in enumerate(reversed(digits)):
        check = int(_D5[check][int(_PERMUTATION[place % 8][int(digit)])])
    return check == 0


class TestVerhoeff:
    """The check itself, against identifiers that everybody knows."""

    @pytest.mark.parametrize("known", ["2363", "138875005", "73211009", "22298006"])
    def test_known_good(self, known: str) -> None:
        """236 takes 3 (the textbook example); SNOMED CT root, diabetes, myocardial infarction."""
        assert _passes_verhoeff(known)

    @pytest.mark.parametrize("spoilt", ["2364", "138875006", "73211090", "22928006"])
    def test_one_slip_is_caught(self, spoilt: str) -> None:
        """A wrong digit and two swapped neighbours are both caught."""
        assert not _passes_verhoeff(spoilt)


class TestClasses:
    def test_every_class_is_defined(self) -> None:
        """No key without a definition, none twice."""
        assert list(CLASSES)
        assert set(CLASSES) == set(MedicineClass)

    @pytest.mark.parametrize("row", CLASSES.values(), ids=lambda row: row.key.value)
    def test_codes_look_like_atc(self, row: object) -> None:
        """Every prefix and every exception is the start of an ATC code."""
        definition = CLASSES[row.key]  # type: ignore[attr-defined]
        for code in definition.atc_prefixes + definition.atc_excluded:
            assert _ATC_PREFIX.fullmatch(code), code
        for code in definition.atc_excluded:
            assert code.startswith(definition.atc_prefixes), f"{code} excludes nothing"
        assert definition.source.locator

    @pytest.mark.parametrize("key", list(MedicineClass), ids=lambda key: key.value)
    def test_every_class_has_an_ingredient(self, key: MedicineClass) -> None:
        """A class that no name can reach would be silent on a chart without codes."""
        assert any(key in row.classes for row in INGREDIENTS)

    @pytest.mark.parametrize(
        ("atc", "classes"),
        [
            # WHO ATC index, 25 April 2026: the names in the comments are its own.
            pytest.param("A10BD15", {"metformin", "sglt2-inhibitor"}, id="metformin and dapagliflozin"),
            pytest.param(
                "A10BD27",
                {"metformin", "dpp4-inhibitor", "sglt2-inhibitor"},
                id="metformin, linagliptin and empagliflozin",
            ),
            pytest.param("A10BD14", {"metformin", "glinide"}, id="metformin and repaglinide"),
            pytest.param("A10BD02", {"metformin", "sulfonylurea"}, id="metformin and sulfonylureas"),
            pytest.param(
                "A10BD19", {"dpp4-inhibitor", "sglt2-inhibitor"}, id="linagliptin and empagliflozin"
            ),
            pytest.param(
                "C03DA54",
                {"mineralocorticoid-receptor-antagonist", "sglt2-inhibitor"},
                id="eplerenone and dapagliflozin",
            ),
            pytest.param(
                "C03AB01",
                {"thiazide-diuretic", "potassium-supplement"},
                id="bendroflumethiazide and potassium",
            ),
            pytest.param("C03CB01", {"loop-diuretic", "potassium-supplement"}, id="furosemide and potassium"),
            pytest.param(
                "C03EB01",
                {"loop-diuretic", "potassium-sparing-diuretic"},
                id="furosemide and potassium-sparing",
            ),
            pytest.param("C09BA03", {"ace-inhibitor", "thiazide-diuretic"}, id="lisinopril and diuretics"),
            pytest.param(
                "C09BX01",
                {"ace-inhibitor", "dihydropyridine-calcium-blocker", "thiazide-diuretic"},
                id="perindopril, amlodipine and indapamide",
            ),
            pytest.param(
                "C09BB10", {"ace-inhibitor", "rate-limiting-calcium-blocker"}, id="trandolapril and verapamil"
            ),
            pytest.param("C09DX04", {"neprilysin-inhibitor"}, id="valsartan and sacubitril"),
            pytest.param(
                "C09DX02", {"angiotensin-receptor-blocker", "renin-inhibitor"}, id="valsartan and aliskiren"
            ),
            pytest.param(
                "C09DX05", {"angiotensin-receptor-blocker", "beta-blocker"}, id="valsartan and nebivolol"
            ),
            pytest.param(
                "C10BX06",
                {"ace-inhibitor", "antiplatelet", "aspirin"},
                id="atorvastatin, aspirin and ramipril",
            ),
            pytest.param("C10BX20", {"angiotensin-receptor-blocker"}, id="rosuvastatin and telmisartan"),
            pytest.param(
                "C08CA51", {"dihydropyridine-calcium-blocker", "nsaid"}, id="amlodipine and celecoxib"
            ),
            pytest.param("C07FX04", {"beta-blocker", "antiplatelet", "aspirin"}, id="bisoprolol and aspirin"),
            pytest.param(
                "N02AJ08", {"opioid", "renally-cleared-opioid", "nsaid"}, id="codeine and ibuprofen"
            ),
            pytest.param("N02AJ19", {"opioid", "nsaid"}, id="oxycodone and ibuprofen"),
            pytest.param("N02CC51", {"nsaid"}, id="sumatriptan and naproxen"),
            pytest.param(
                "B01AF51", {"factor-xa-inhibitor", "antiplatelet", "aspirin"}, id="rivaroxaban and aspirin"
            ),
            pytest.param("J01EE01", {"antibacterial", "trimethoprim", "sulfonamide"}, id="co-trimoxazole"),
            pytest.param(
                "J04AM08",
                {"trimethoprim", "sulfonamide", "antituberculosis"},
                id="isoniazid with co-trimoxazole",
            ),
            pytest.param("N03AX12", {"gabapentinoid"}, id="gabapentin, old code"),
            pytest.param("N03AX16", {"gabapentinoid"}, id="pregabalin, old code"),
            pytest.param("N05AN01", {"lithium"}, id="lithium is no antipsychotic"),
            pytest.param("M01AX05", set(), id="glucosamine is no NSAID"),
            pytest.param("B01AC27", {"pulmonary-hypertension-medicine"}, id="selexipag is no antiplatelet"),
            pytest.param("B01AC06", {"antiplatelet", "aspirin"}, id="low-dose aspirin is no NSAID"),
            pytest.param("M02AA13", set(), id="topical ibuprofen"),
            pytest.param("A07AA09", set(), id="oral vancomycin"),
            pytest.param("N02BE01", set(), id="paracetamol"),
        ],
    )
    def test_codes_fall_into_their_classes(self, atc: str, classes: set[str]) -> None:
        """A fixed combination brings every class that acts in it, and nothing else."""
        assert classes_of(atc) == classes

    def test_local_groups_reach_no_class(self) -> None:
        """No class counts a product of an ATC group for local use as its own."""
        for definition in CLASSES.values():
            for prefix, _ in LOCAL_ATC_PREFIXES:
                overlapping = [p for p in definition.atc_prefixes if p.startswith(prefix)]
                assert not overlapping, (definition.key, overlapping)
        assert all(code.startswith("D") for code in SYSTEMIC_DESPITE_LOCAL_ATC)


class TestRoutes:
    @pytest.mark.parametrize("route", sorted(LOCAL_ROUTES))
    def test_local_routes_silence_a_plain_class(self, route: Route) -> None:
        """An NSAID put on the skin, into the eye or the ear is no systemic NSAID."""
        assert acts_locally(MedicineClass.NSAID, route)

    @pytest.mark.parametrize(
        ("key", "route"), [(k, r) for k, routes in SYSTEMIC_BY_LOCAL_ROUTE.items() for r in sorted(routes)]
    )
    def test_named_exceptions_stay_systemic(self, key: MedicineClass, route: Route) -> None:
        """Desmopressin up the nose and nitroglycerin ointment do reach the blood."""
        assert not acts_locally(key, route)

    def test_unknown_route_is_taken_as_systemic(self) -> None:
        """A missing route never hides a medicine."""
        assert not any(acts_locally(key, Route.UNKNOWN) for key in MedicineClass)


class TestIngredients:
    def test_there_are_enough(self) -> None:
        """The ingredients of the source table and the common ones beside them."""
        assert len(INGREDIENTS) > 500
        assert len(BY_NAME) == len(INGREDIENTS)

    @pytest.mark.parametrize("row", INGREDIENTS, ids=lambda row: row.name)
    def test_row(self, row: object) -> None:
        """Each code has the shape of its system, each code falls under a class of the row."""
        ingredient = BY_NAME[row.name]  # type: ignore[attr-defined]
        assert ingredient.classes
        assert ingredient.sources
        assert ingredient.name == ingredient.name.strip().casefold()
        for code in ingredient.atc:
            assert _ATC.fullmatch(code), code
            assert classes_of(code) & set(ingredient.classes), code
        for code in ingredient.rxcui:
            assert re.fullmatch(r"[1-9]\d{2,6}", code), code
        for code in ingredient.snomed:
            assert re.fullmatch(r"[1-9]\d{5,17}", code), code
            assert code[-3:-1] == "00", f"{code} is not a concept of the international edition"
            assert _passes_verhoeff(code), code
        if not (ingredient.atc or ingredient.rxcui or ingredient.snomed):
            assert [source.mark for source in ingredient.sources] == [Mark.FROM_MEMORY]

    @pytest.mark.parametrize(
        "wrong",
        [
            # Seen in public code lists: 25789 is glimepiride, 1364430 apixaban.
            pytest.param(("gliclazide", "25789"), id="gliclazide"),
            pytest.param(("dabigatran etexilate", "1364430"), id="dabigatran"),
            pytest.param(("rivaroxaban", "1037045"), id="rivaroxaban"),
            # Weakly supported, so left out until somebody confirms them.
            pytest.param(("amiodarone", "703"), id="amiodarone"),
            pytest.param(("allopurinol", "519"), id="allopurinol"),
            pytest.param(("isosorbide mononitrate", "28004"), id="isosorbide-mononitrate"),
        ],
    )
    def test_unconfirmed_codes_are_absent(self, wrong: tuple[str, str]) -> None:
        """Codes known to be wrong or not confirmed never come back."""
        name, code = wrong
        assert code not in BY_NAME[name].rxcui

    def test_british_compound_names(self) -> None:
        """Each part of a compound name is an ingredient, and trimethoprim drives potassium."""
        assert all(part in BY_NAME for parts in COMPOUND_NAMES.values() for part in parts)
        assert MedicineClass.TRIMETHOPRIM in BY_NAME[COMPOUND_NAMES["co-trimoxazole"][1]].classes
        assert MedicineClass.TRIMETHOPRIM not in BY_NAME["sulfamethoxazole"].classes

    def test_masking_phrases_hold_a_name(self) -> None:
        """A phrase that hides an ingredient is only there because it contains one."""
        spelled = {name.split()[0] for row in INGREDIENTS for name in (row.name, *row.synonyms)}
        assert all(phrase.replace("-", " ").split()[0] in spelled for phrase in NOT_AN_INGREDIENT)
