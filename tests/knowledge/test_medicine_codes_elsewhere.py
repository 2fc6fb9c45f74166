"""Our codes and names of medicines against lists that others keep.

The lists are fetched by `make outside` and never shipped; without them these tests are
skipped and say so. Each test states how many comparisons it made at the least.
"""

import re

from tests.knowledge.outside_lists import atc_names, rxnorm_names, substance_names
from weatherglass.knowledge.medicines.class_codes import (
    LOCAL_ATC_PREFIXES,
    SYSTEMIC_DESPITE_LOCAL_ATC,
    classes_of,
)
from weatherglass.knowledge.medicines.ingredient_tables.without_a_rule import KNOWN_WITHOUT_A_RULE
from weatherglass.knowledge.medicines.ingredients import BY_NAME, INGREDIENTS
from weatherglass.terminology.medicine_names import ingredients_named

#: ATC codes whose name in the index is not the ingredient's own, each with the reason.
_OTHER_ATC_NAMES = {
    "A10AC01": "insulin (human), intermediate-acting, is isophane insulin",
    "A10AD05": "spelled in French in this copy",
    "A10AE04": "spelled in French in this copy",
    "H03AA01": "named with its sodium",
    "H03AA02": "named with its sodium",
    "J01DH03": "spelled in French in this copy",
    "J01DH04": "spelled in French in this copy",
    "J01DH51": "imipenem is only sold with an enzyme inhibitor",
    "N02AF02": "an older spelling",
    "N02BA06": "an older name of salsalate",
    "N04BA02": "levodopa is only sold with a decarboxylase inhibitor",
    "N04BA03": "levodopa with two companions",
    "B05XA06": "potassium phosphate with its companions",
    "P01CX01": "named with its salt",
    "V08AA01": "an older name of amidotrizoic acid",
}

#: Rows of the index where a name finds more than the code, each with the reason.
_NAME_FINDS_MORE = {
    "A02BD01": "antibiotics of an eradication pack are reviewed by name",
    "A02BD02": "as above",
    "A02BD03": "as above",
    "A02BD04": "as above",
    "A02BD05": "as above",
    "A02BD07": "as above",
    "A06AD04": "a laxative salt; found by name",
    "A08AA02": "an appetite suppressant then, an antiepileptic now",
    "B06AA55": "applied to wounds",
    "G02CB01": "for prolactin; found by name",
    "G02CB03": "for prolactin; found by name",
    "G04BE07": "withdrawn use of apomorphine; found by name",
    "J01RA02": "the name excludes trimethoprim in words",
    "J04AM01": "a tuberculosis pack",
    "L01XE10": "an older code of everolimus for cancer; found by name",
    "M03BC02": "an older code of tizanidine; found by name",
    "N01AX01": "droperidol with fentanyl, an older code; found by name",
    "N03AB03": "a relative of phenytoin that holds its name",
    "N05CX04": "an older pack; found by name",
    "P01AB01": "metronidazole for parasites; found by name",
    "P01AB02": "tinidazole for parasites; found by name",
    "V03AB05": "a pack for reactions; found by name",
    "V03AH01": "diazoxide that raises glucose; found by name",
    "V04CA01": "a diagnostic dose; found by name",
    "V04CC02": "a diagnostic dose; found by name",
    "V10BX03": "a radiopharmaceutical",
}


class TestAtc:
    def test_each_code_has_our_name(self) -> None:
        """Where the older index has the code, it gives it the ingredient's own name."""
        index = atc_names()
        compared, different = 0, []
        for row in INGREDIENTS:
            for code in row.atc:
                if code not in index:
                    continue  # Assigned after the copy was made.
                compared += 1
                name = re.sub(r"\s*[(,].*", "", index[code])
                if code not in _OTHER_ATC_NAMES and name not in (
                    row.name,
                    *row.synonyms,
                    row.name.split()[0],
                ):
                    different.append((code, row.name, index[code]))
        assert different == []
        assert compared >= 480

    def test_no_class_misses_a_combination(self) -> None:
        """The classes that an entry's own words name are among the classes of its code."""
        local = tuple(prefix for prefix, _ in LOCAL_ATC_PREFIXES)
        compared, missed = 0, []
        for code, name in atc_names().items():
            is_local = code.startswith(local) and not code.startswith(SYSTEMIC_DESPITE_LOCAL_ATC)
            if len(code) != 7 or is_local or code in _NAME_FINDS_MORE:
                continue
            named = frozenset(key for n in ingredients_named(name).ingredients for key in BY_NAME[n].classes)
            compared += bool(named)
            if named - classes_of(code):
                missed.append((code, name, sorted(named - classes_of(code))))
        assert missed == []
        assert compared >= 550

    def test_names_without_a_rule_have_no_class(self) -> None:
        """Where the index has a name that no rule speaks of, none of its codes falls into a class."""
        codes: dict[str, list[str]] = {}
        for code, name in atc_names().items():
            if len(code) == 7:
                codes.setdefault(re.sub(r"\s*[(,].*", "", name), []).append(code)
        found = [name for name in sorted(KNOWN_WITHOUT_A_RULE) if name in codes]
        with_class = {code for name in found for code in codes[name] if classes_of(code)}
        assert with_class == {"A12CC10"}  # Magnesium oxide: a class that no rule speaks of.
        assert len(found) >= 240


class TestRxnorm:
    def test_each_concept_has_our_name(self) -> None:
        """Where the list has a concept we use, one of its names is the ingredient's."""
        concepts = rxnorm_names()
        compared, different = 0, []
        for row in INGREDIENTS:
            ours = {row.name, *row.synonyms, "insulin, regular, human" if row.name == "insulin human" else ""}
            for code in row.rxcui:
                if code in concepts:
                    compared += 1
                    if not ours & {name.casefold() for name in concepts[code]}:
                        different.append((code, row.name, sorted(concepts[code])))
        assert different == []
        assert compared >= 75

    def test_each_name_has_our_concept(self) -> None:
        """Where the list has a concept by one of our names alone, it is the one we use."""
        by_name: dict[str, set[str]] = {}
        for code, names in rxnorm_names().items():
            for name in names:
                by_name.setdefault(name.casefold(), set()).add(code)
        different = [
            (row.name, name, by_name[name])
            for row in INGREDIENTS
            for name in (row.name, *row.synonyms)
            if row.rxcui and name in by_name and not by_name[name] & set(row.rxcui)
        ]
        assert different == []

    def test_clinical_drug_names(self) -> None:
        """Thousands of RxNorm display names give the ingredients that start their parts.

        The oracle reads each name another way: it splits at the slashes, drops leading
        quantities, and takes the longest of our names that starts the part.
        """
        spelled = {
            tuple(re.findall("[a-z]+", name)): row.name
            for row in INGREDIENTS
            for name in (row.name, *row.synonyms)
        }

        def starts(part: str) -> str | None:
            words = re.findall("[a-z]+", re.sub(r"^.*?[\d.]+ (hr|ml|actuat) (\d+ ml )?", "", part.casefold()))
            return next((spelled[key] for n in (5, 4, 3, 2, 1) if (key := tuple(words[:n])) in spelled), None)

        compared, different = 0, []
        for names in rxnorm_names().values():
            for published in names:
                name = re.sub(r"\[.*?\]", "", published)  # Trade names stand in brackets.
                if not re.search(r"\d (MG|UNT|MEQ)", name) or "Pack" in name:
                    continue
                expected = {found for part in name.split(" / ") if (found := starts(part))}
                compared += bool(expected)
                if set(ingredients_named(name).ingredients) != expected:
                    different.append((published, expected, ingredients_named(name).ingredients))
        assert different == []
        assert compared >= 2500


class TestNames:
    def test_spellings_mean_one_substance(self) -> None:
        """Spellings that the dictionary knows both ways lead to the same substance."""
        meanings = substance_names()["drug_variant_to_canonical"]
        compared, different = 0, []
        for row in INGREDIENTS:
            for synonym in row.synonyms:
                ours, theirs = set(meanings.get(row.name, ())), set(meanings.get(synonym, ()))
                if not (ours and theirs):
                    continue
                compared += 1
                # The dictionary lists many a salt, ester and second spelling as an entry of its own,
                # with the same letters in front.
                if not ours & theirs and row.name[:5] != synonym[:5] and synonym not in _SPELLED_APART:
                    different.append((row.name, synonym, ours, theirs))
        assert different == []
        assert compared >= 80

    def test_no_trade_names(self) -> None:
        """Nothing we match by name is a trade name in the dictionary."""
        marks = substance_names()["drug_variant_to_variant_data"]
        ours = [name for row in INGREDIENTS for name in (row.name, *row.synonyms)]
        assert [name for name in ours if marks.get(name, {}).get("is_brand")] == []
        assert sum(name in marks for name in ours) >= 300


#: Entries of their own in the dictionary, although the substance is one; each from memory.
_SPELLED_APART = {
    "acyclovir",
    "cephalexin",
    "chlorpheniramine",
    "diatrizoate",
    "diatrizoic acid",
    "dipotassium hydrogen phosphate",
    "dipotassium phosphate",
    "human insulin",
    "l thyroxine",
    "nitroglycerin",
    "nitroglycerine",
    "polymyxin e",
    "regular insulin",
    "scopolamine",
    "soluble insulin",
}
