"""Every row of `pairs.toml` once, and charts that are quiet: the publication that each row names."""

import pytest

from tests.medicines.paired import EXAMPLES, found, line
from tests.medicines.wards import result
from weatherglass.knowledge.data_files import TableError
from weatherglass.knowledge.medicines.groups import members_of
from weatherglass.knowledge.medicines.pairs import PAIRS

#: Pairs that ask for something else as well, which these bring.
_WITH = {"colchicine-with-statin": [result("eGFR", "40")]}


class TestEachRow:
    @pytest.mark.parametrize("key", EXAMPLES)
    def test_the_two_are_named_with_what_they_do_and_where_it_is_printed(self, key: str) -> None:
        one, other, urgency = EXAMPLES[key]
        pair = next(each for each in PAIRS if each.key == key)
        finding = found(one, other)[key]
        assert finding.sentence.endswith(pair.says)
        assert sorted(finding.medicines) == sorted((one, other))
        assert finding.urgency is urgency
        assert finding.sources[: len(pair.sources)] == pair.sources

    @pytest.mark.parametrize("key", EXAMPLES)
    def test_each_alone_is_silent(self, key: str) -> None:
        one, other, _ = EXAMPLES[key]
        assert key not in found(one, "Senna 7.5 mg")
        assert key not in found(other, "Lactulose 10 mL")

    def test_every_pair_is_tried(self) -> None:
        elsewhere = {"same-dose-twice", "calcineurin-twice", "one-medicine-by-two-names"}
        elsewhere |= {"ceftriaxone-with-calcium-in-a-newborn", "after-a-direct-anticoagulant"}
        elsewhere |= {"bruton-inhibitor-with-anticoagulant", "blood-cancer-with-inhibitor"}
        elsewhere |= {pair.key for pair in PAIRS if pair.ended}  # test_whole_charts_sixth
        elsewhere |= {"antiplatelet-with-anticoagulant"}
        assert {*EXAMPLES, *_WITH, *elsewhere} == {pair.key for pair in PAIRS}

    def test_what_says_it_stands_before(self) -> None:
        seen: set[str] = set()
        for pair in PAIRS:
            assert not (pair.said_by & {each.key for each in PAIRS}) - seen
            seen.add(pair.key)


def test_an_ordinary_chart_is_quiet() -> None:
    """Ten medicines of an ordinary older person say nothing. Our choice of what is ordinary."""
    chart = (
        "Ramipril 5 mg", "Bisoprolol 2.5 mg", "Furosemide 40 mg", "Atorvastatin 20 mg", "Aspirin 75 mg",
        "Amlodipine 5 mg", "Metformin 500 mg", "Lansoprazole 30 mg", "Paracetamol 1 g", "Senna 7.5 mg",
    )  # fmt: skip
    assert not found(*chart)


@pytest.mark.parametrize(
    ("chart", "key"),
    [
        (("Fentanyl 25 micrograms/hour patch", "Fentanyl 12 micrograms/hour patch"), "two-opioid-patches"),
        (("Fentanyl 25 micrograms/hour patch", "BuTrans 10"), "two-opioid-patches"),
        (("Fentanyl 25 micrograms/hour patch", "Zomorph 30 mg"), "opioid-patch-with-long-acting"),
        (("Fentanyl 25 micrograms/hour patch", "Nicotine 21 mg patch"), None),
        (("Fentanyl 25 micrograms/hour patch", "Fentanyl 100 micrograms injection"), None),
        (("Inegy 10/40", "Clarithromycin 500 mg"), "simvastatin-with-strong-inhibitor"),
        (("Nardil 15 mg", "Tramadol 50 mg"), "maoi-with-serotonergic"),
    ],
)
def test_patches_and_trade_names(chart: tuple[str, ...], key: str | None) -> None:
    """Common practice, no source: one long-acting opioid at a time. Trade names from memory."""
    assert set(found(*chart)) == ({key} if key else set())


def test_a_group_that_needs_a_form_stands_alone() -> None:
    with pytest.raises(TableError):
        members_of(["opioid-patch", "morphine"])


@pytest.mark.parametrize(
    ("one", "other", "is_said"),
    [
        (("Tildiem LA 200 mg", "200 mg once daily"), ("Adizem-XL 120 mg", "120 mg once daily"), True),
        (("Exforge 5/80", "1 tablet daily"), ("Istin 5 mg", "5 mg once daily"), True),
        (("Lantus 100 units/mL", "20 units at night"), ("Toujeo 300 units/mL", "22 units at night"), True),
        (("Bisoprolol 5 mg", "5 mg once daily"), ("Bisoprolol 2.5 mg", "2.5 mg once daily"), False),
        (("Furosemide 40 mg", "40 mg in the morning"), ("Frusol 20 mg", "20 mg at midday"), False),
        (("Furosemide 40 mg intravenous", "40 mg once daily"), ("Frusol 20 mg", "20 mg once daily"), False),
        (("Losec 20 mg", "20 mg once daily"), ("Omeprazole 40 mg", "40 mg once daily"), False),
        (("Tildiem LA 200 mg", "200 mg once daily"), ("Adizem-XL 120 mg", "120 mg when needed"), False),
    ],
)
def test_one_medicine_by_two_names(one: tuple[str, str], other: tuple[str, str], is_said: bool) -> None:
    """STOPP 2, A3: any duplicate; that it takes another name, one way and one time is our choice."""
    chart = found(
        *(
            {**line(place, text), "dosageInstruction": [{"text": words, "asNeededBoolean": "when" in words}]}
            for place, (text, words) in enumerate((one, other))
        )
    )
    assert ("one-medicine-by-two-names" in chart) is is_said
    assert "same-dose-twice" not in chart
