"""What a medicine is: codes first, in their order, then words; disagreement is shown."""

import pytest

from weatherglass.knowledge.medicines.ingredients import BY_NAME, INGREDIENTS
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass, acts_locally
from weatherglass.model.record.medicines import MatchMethod, Route
from weatherglass.terminology.medicines import ATC, RXNORM, SNOMED, identify


class TestOneCode:
    """Each confirmed code alone finds its ingredient."""

    @pytest.mark.parametrize(
        ("system", "field", "method"),
        [
            (ATC, "atc", MatchMethod.ATC),
            ("urn:oid:2.16.840.1.113883.6.73", "atc", MatchMethod.ATC),
            (RXNORM, "rxcui", MatchMethod.RXNORM),
            ("urn:oid:2.16.840.1.113883.6.88", "rxcui", MatchMethod.RXNORM),
            (SNOMED, "snomed", MatchMethod.SNOMED_CT),
            ("urn:oid:2.16.840.1.113883.6.96", "snomed", MatchMethod.SNOMED_CT),
        ],
    )
    def test_every_row(self, system: str, field: str, method: MatchMethod) -> None:
        """By each system and its OID, every code of the table leads home."""
        checked = 0
        for row in INGREDIENTS:
            for code in getattr(row, field):
                found = identify([(system, code)], [])
                assert row.name in found.ingredients, (row.name, code)
                assert found.method is method
                assert found.classes
                assert found.classes <= {
                    key for name in found.ingredients for key in BY_NAME[name].classes
                } | set(row.classes)
                checked += 1
        assert checked > 100

    def test_lower_case_and_blanks(self) -> None:
        """Feeds send ATC codes in lower case and with blanks."""
        assert identify([(ATC, " c09aa05 ")], []).ingredients == ("ramipril",)

    def test_class_without_a_listed_ingredient(self) -> None:
        """An ingredient we do not list still brings its class by its ATC code."""
        found = identify([(ATC, "C09AA14")], ["Temocapril 10 mg"])  # WHO ATC index: temocapril
        assert found.classes == {MedicineClass.ACE_INHIBITOR}
        assert (found.ingredients, found.method) == ((), MatchMethod.ATC)

    def test_combination_code_takes_names_from_the_text(self) -> None:
        """A10BD20 is metformin and empagliflozin; the words name the parts."""
        found = identify([(ATC, "A10BD20")], ["Empagliflozin 5mg / Metformin 850mg tablets"])
        assert found.classes == {MedicineClass.METFORMIN, MedicineClass.SGLT2_INHIBITOR}
        assert set(found.ingredients) == {"metformin", "empagliflozin"}
        assert found.also_named == ()


class TestOrder:
    def test_atc_before_rxnorm_before_snomed(self) -> None:
        """With several systems, the first in the stated order gives the method."""
        codes = [(SNOMED, "386872004"), (RXNORM, "35296"), (ATC, "C09AA05")]
        assert identify(codes, []).method is MatchMethod.ATC
        assert identify(codes[:2], []).method is MatchMethod.RXNORM
        assert identify(codes[:1], []).method is MatchMethod.SNOMED_CT
        assert identify([], ["Ramipril 5mg capsules"]).method is MatchMethod.NAME

    def test_product_code_falls_through_to_the_name(self) -> None:
        """314077 is an RxNorm clinical drug, not an ingredient: the words decide."""
        found = identify([(RXNORM, "314077")], ["Lisinopril 20 MG Oral Tablet"])
        assert (found.ingredients, found.method) == (("lisinopril",), MatchMethod.NAME)

    def test_code_of_no_class_falls_through(self) -> None:
        """N02BE51 (paracetamol, combinations) has no class; the name still shows the codeine."""
        found = identify([(ATC, "N02BE51")], ["Co-codamol 30mg/500mg tablets"])
        assert MedicineClass.OPIOID in found.classes
        assert found.method is MatchMethod.NAME

    def test_unknown_system_is_ignored(self) -> None:
        """A code of a system that we do not know says nothing."""
        found = identify([("urn:example:formulary", "C09AA05")], [])
        assert found.method is MatchMethod.NONE
        assert not found.classes

    def test_nothing(self) -> None:
        """Nothing recognised is said, not passed over."""
        assert identify([], ["unknown X"]).method is MatchMethod.NONE

    def test_two_rxnorm_ingredients(self) -> None:
        """A product given as two ingredient codes is judged by both."""
        found = identify([(RXNORM, "6809"), (RXNORM, "1545653")], [])
        assert found.classes == {MedicineClass.METFORMIN, MedicineClass.SGLT2_INHIBITOR}

    def test_sacubitril_with_valsartan_is_one_class_by_code_and_by_name(self) -> None:
        """The code and the words for one product give the same classes."""
        by_code = identify([(ATC, "C09DX04")], [])
        by_name = identify([], ["Sacubitril 49mg / Valsartan 51mg tablets"])
        by_parts = identify([(RXNORM, "1656328"), (RXNORM, "69749")], [])
        assert by_code.classes == by_name.classes == by_parts.classes == {MedicineClass.ARNI}


class TestDisagreement:
    def test_a_named_ingredient_is_never_lost(self) -> None:
        """Coded as ramipril, named as a combination: the diuretic is added and shown."""
        found = identify([(ATC, "C09AA05")], ["Ramipril 5mg / Hydrochlorothiazide 25mg"])
        assert found.classes == {MedicineClass.ACE_INHIBITOR, MedicineClass.THIAZIDE}
        assert found.also_named == ("hydrochlorothiazide",)
        assert found.method is MatchMethod.ATC

    def test_code_and_name_of_different_medicines(self) -> None:
        """Both are reviewed, and the reader sees which came from the name."""
        found = identify([(RXNORM, "11289")], ["Bisoprolol 2.5mg"])
        assert {MedicineClass.VITAMIN_K_ANTAGONIST, MedicineClass.BETA_BLOCKER} <= found.classes
        assert found.also_named == ("bisoprolol",)


class TestRouteHint:
    @pytest.mark.parametrize(
        ("codes", "texts", "route"),
        [
            pytest.param([(ATC, "M02AA13")], [], Route.TOPICAL, id="topical-by-code"),
            pytest.param([(ATC, "M02AA13")], ["Ibuprofen 5% gel"], Route.TOPICAL, id="both"),
            pytest.param([(ATC, "M01AE01")], ["Ibuprofen 5% gel"], Route.TOPICAL, id="by-form"),
            pytest.param([(ATC, "M02AA13")], ["Ibuprofen 400mg tablets"], Route.ORAL, id="form-wins"),
            pytest.param([(ATC, "A07AA09")], ["Vancomycin 125mg capsules"], Route.ENTERAL, id="gut"),
            pytest.param([(ATC, "S01ED01")], [], Route.OPHTHALMIC, id="eye"),
            pytest.param([(ATC, "R03AC02")], [], Route.INHALED, id="inhaled"),
            pytest.param([(ATC, "D01BA02")], [], Route.UNKNOWN, id="swallowed-though-under-D"),
            pytest.param([(ATC, "D10BA01")], [], Route.UNKNOWN, id="isotretinoin-is-swallowed"),
            pytest.param([(ATC, "D10AD04")], [], Route.TOPICAL, id="isotretinoin-on-the-skin"),
            pytest.param([], ["Digoxin 125 micrograms"], Route.UNKNOWN, id="nothing-said"),
        ],
    )
    def test_route(self, codes: list[tuple[str, str]], texts: list[str], route: Route) -> None:
        """The form decides where it speaks, then the ATC group for local use."""
        assert identify(codes, texts).route_hint is route

    def test_topical_ibuprofen_is_known_but_local(self) -> None:
        """A gel is recognised as an NSAID, and as one that acts where it is put."""
        found = identify([(ATC, "M02AA13")], ["Ibuprofen 5% gel"])
        assert found.classes == {MedicineClass.NSAID}
        assert all(acts_locally(key, found.route_hint) for key in found.classes)
