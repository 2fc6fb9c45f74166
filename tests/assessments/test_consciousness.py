"""How alert somebody is, at every age, and a falling coma scale.

A fall of 2 points in 24 hours (BMJ 1998, PMC28582, table 5), of more than 2 (MERIT, Resuscitation
2007;73:62-72), 8 or less (from memory). What an answer calls for is our choice; V, P and U are high
risk in children too (NICE NG51, tables under 16). Long-standing confusion: Clin Med 2019;19:190-191.
"""

from datetime import date
from typing import Any

import pytest

from tests.charts import (
    ago,
    answers,
    chart,
    condition,
    findings,
    measures_of,
    order,
    rounds,
    scores,
    was_done,
)
from tests.records import (
    LOCAL,
    alertness,
    answer_of,
    full_set,
    observation,
    ordered,
    patient,
    points_of,
    score_in,
)
from weatherglass.model.findings import Finding, Kind, State, Urgency
from weatherglass.model.plain import replace
from weatherglass.model.record.care import ProcedureKind
from weatherglass.model.record.medicines import Route
from weatherglass.model.record.problems import ConditionKind
from weatherglass.model.record.record import Record
from weatherglass.model.record.values import CodedObservation, Series
from weatherglass.model.signals import ACVPU, BaselineConfusion, CodedSignal, Consciousness, Signal
from weatherglass.model.sources import Mark

GCS, ACVPU_SIGNAL = Signal.GCS_TOTAL, CodedSignal.CONSCIOUSNESS
EYE, VERBAL, MOTOR = Signal.GCS_EYE, Signal.GCS_VERBAL, Signal.GCS_MOTOR
E, U, R = Urgency.EMERGENCY, Urgency.URGENT, Urgency.ROUTINE
CALLS = {
    Consciousness.ALERT: None,
    Consciousness.NEW_CONFUSION: U,
    Consciousness.VOICE: U,
    Consciousness.PAIN: E,
    Consciousness.UNRESPONSIVE: E,
}
#: A newborn, a child of 6, the day before 16, an adult, somebody of unknown age.
BORN = [date(2026, 3, 1), date(2020, 1, 1), date(2010, 3, 13), date(1950, 6, 1), None]
USUAL = {CodedSignal.BASELINE_CONFUSION: [(600, BaselineConfusion.LONG_STANDING)]}


def _found(record: Record) -> Finding | None:
    return findings(record, Kind.SINGLE_SIGN).get("consciousness")


def _urgency(record: Record) -> Urgency | None:
    found = _found(record)
    return found.urgency if found is not None else None


def _said(*given: tuple[float, Consciousness], **rest: Any) -> Record:
    return chart(codes={ACVPU_SIGNAL: given}, **rest)


class TestAnswers:
    """Whatever a score says: P and U at once, V and new confusion within the hour."""

    @pytest.mark.parametrize("born", BORN)
    @pytest.mark.parametrize("answer", ACVPU)
    def test_at_every_age(self, born: date | None, answer: Consciousness) -> None:
        """One answer alone, without any other sign."""
        assert _urgency(_said((1, answer), born=born)) is CALLS[answer]

    @pytest.mark.parametrize("answer", ACVPU)
    def test_in_pregnancy_and_beside_a_whole_score(self, answer: Consciousness) -> None:
        """With every other sign normal."""
        pregnant = (condition(ConditionKind.PREGNANCY),)
        record = rounds((1, {ACVPU_SIGNAL: answer}))
        assert _urgency(record) is CALLS[answer]
        assert _urgency(rounds((1, {ACVPU_SIGNAL: answer}), conditions=pregnant)) is CALLS[answer]

    def test_a_child_who_does_not_respond_is_an_emergency(self) -> None:
        """Bedside PEWS has no row for it; the review says it all the same."""
        answer = answer_of(patient("2020-01-01"), alertness("unresponsive"))
        review = answer.reviews[0]
        assert review.urgency is E
        assert review.headline.startswith("Unresponsive")

    def test_an_earlier_answer_stands_until_another_one(self) -> None:
        """A later round without an answer does not take it back."""
        record = rounds((5, {ACVPU_SIGNAL: Consciousness.PAIN}), (1, {ACVPU_SIGNAL: None}))
        found = _found(record)
        assert found is not None
        assert (found.urgency, found.since) == (E, ago(5))

    @pytest.mark.parametrize("pulse", [75, None])
    def test_the_well_have_none(self, pulse: int | None) -> None:
        """Alert, whole set or not."""
        assert not findings(rounds((1, {Signal.PULSE: pulse})), Kind.SINGLE_SIGN)


class TestComaScale:
    """8 or less at any age, new or not; a fall against the highest of 24 hours."""

    @pytest.mark.parametrize(
        ("values", "urgency", "fall"),
        [
            pytest.param([(10, 15), (0, 15)], None, None, id="15"),
            pytest.param([(10, 15), (0, 14)], U, None, id="fall-of-1-is-confusion"),
            pytest.param([(10, 15), (0, 13)], U, 2, id="fall-of-2"),
            pytest.param([(10, 15), (0, 12)], E, 3, id="fall-of-3"),
            pytest.param([(24, 15), (0, 13)], U, 2, id="24-hours"),
            pytest.param([(24.1, 15), (0, 12)], U, None, id="longer"),
            pytest.param([(20, 15), (10, 13), (0, 12)], E, 3, id="from-the-highest"),
            pytest.param([(10, 11), (0, 9)], U, 2, id="9-after-11"),
            pytest.param([(10, 10), (0, 8)], E, 2, id="8-after-10"),
            pytest.param([(10, 8), (0, 8)], E, None, id="8-all-along"),
            pytest.param([(10, 9), (0, 9)], U, None, id="9-all-along"),
            pytest.param([(10, 12), (0, 15)], R, None, id="rise"),
        ],
    )
    @pytest.mark.parametrize("born", BORN)
    def test_limits(
        self, values: list[tuple[float, int]], urgency: Urgency | None, fall: int | None, born: date | None
    ) -> None:
        """Both ends of the low total, of the fall and of its window."""
        found = _found(chart({GCS: values}, born=born))
        assert (found.urgency if found else None) is urgency
        if found is not None and urgency is not R:
            assert measures_of(found)["gcs-total"] == values[-1][1]
            assert measures_of(found).get("fall") == fall

    def test_sources(self) -> None:
        """A fall of 3 names MERIT, 8 or less is from memory."""
        fallen, low = _found(chart({GCS: [(5, 15), (0, 12)]})), _found(chart({GCS: [(0, 8)]}))
        assert fallen is not None
        assert low is not None
        assert any("MERIT" in source.citation for source in fallen.sources)
        assert Mark.FROM_MEMORY in {source.mark for source in low.sources}
        assert low.sentence == "Coma scale 8: the airway is at risk."

    def test_said_with_the_answer(self) -> None:
        """One line for the answer, the scale and its fall."""
        record = chart({GCS: [(5, 15), (1, 8)]}, codes={ACVPU_SIGNAL: [(1, Consciousness.PAIN)]})
        found = _found(record)
        assert found is not None
        assert found.sentence == (
            "Responds only to pain, coma scale 8, down 7 from 15 (4 hours before): the airway is at risk."
        )

    @pytest.mark.parametrize(
        ("values", "state", "since", "asked"),
        [
            pytest.param([(20, 15), (3, 13)], State.NEW, 3, None, id="new"),
            pytest.param(
                [(30, 15), (20, 13), (8, 13)], State.CONTINUING, 20, None, id="a-repeat-moves-nothing"
            ),
            pytest.param([(20, 15), (10, 13), (3, 12), (1, 12)], State.NEW, 10, 3, id="stepped-up"),
            pytest.param([(30, 15), (20, 13), (1, 15)], State.SETTLING, 20, None, id="settling"),
        ],
    )
    def test_states(
        self, values: list[tuple[float, int]], state: State, since: float, asked: float | None
    ) -> None:
        """A run begins with its first total; a more urgent one is asked for from its own first."""
        found = _found(chart({GCS: values}))
        assert found is not None
        assert (found.state, found.since) == (state, ago(since))
        assert found.asked_since == (ago(asked) if asked is not None else None)


#: Eyes, voice, movement; each adds up to the total beside it.
PARTS = [((4, 5, 6), 15), ((4, 4, 6), 14), ((3, 3, 6), 12), ((2, 2, 4), 8), ((1, 1, 1), 3)]


class TestOneScale:
    """A total and its three parts are one fact, for whoever asks."""

    @staticmethod
    def _review(*values: Any) -> Any:
        morphine = ordered("Morphine sulfate 10 mg tablets", authoredOn="2026-02-27T09:00:00+04:00")
        return answer_of(patient(), morphine, *full_set(consciousness=None), *values)

    @pytest.mark.parametrize(("parts", "total"), PARTS)
    def test_every_reader_gives_the_same_answer(self, parts: tuple[int, int, int], total: int) -> None:
        """Score, secondary score, single sign and drug chart: loose parts, a panel, or the total."""
        codes = dict(zip(("9267-6", "9270-0", "9268-4"), parts, strict=True))
        loose = [observation(code, code, valueInteger=value) for code, value in codes.items()]
        component = [
            {"code": {"coding": [{"system": "http://loinc.org", "code": code}]}, "valueInteger": value}
            for code, value in codes.items()
        ]
        panel = [observation("panel", "35088-4", component=component)]
        whole = [observation("total", "9269-2", valueInteger=total)]
        told = []
        for values in (whole, loose, [*reversed(loose)], panel, [*whole, *loose]):
            answer = self._review(*values)
            found = {(f.kind, f.key): f for f in answer.reviews[0].findings}
            single = found.get((Kind.SINGLE_SIGN, "consciousness"))
            told.append(
                (
                    points_of(score_in(answer))["consciousness"],
                    points_of(score_in(answer, "qsofa"))["consciousness"],
                    single.urgency if single is not None else None,
                    measures_of(single).get("gcs-total") if single is not None else None,
                    sorted(f.sentence for f in answer.reviews[0].findings if f.kind is Kind.MEDICINE),
                    answer.reviews[0].urgency,
                )
            )
        assert all(one == told[0] for one in told), told
        holds = any(sentence.startswith("Consider holding") for sentence in told[0][4])
        assert holds is (total <= 12), "reduced consciousness holds morphine at 12 or less"

    def test_a_total_that_its_parts_contradict(self) -> None:
        """The lower one counts, and both are said, whichever came first."""
        for hours in ((1.0, 1.1), (1.1, 1.0)):
            record = chart(
                {
                    GCS: [(hours[0], 14)],
                    **{s: [(hours[1], v)] for s, v in zip((EYE, VERBAL, MOTOR), (2, 2, 4), strict=True)},
                }
            )
            found = _found(record)
            assert found is not None
            assert found.urgency is E
            assert "A total of 14 and parts that add up to 8 are both recorded" in found.sentence

    def test_a_part_alone_is_no_total(self) -> None:
        """Eyes alone cannot be added up; they still tell how alert somebody is."""
        found = _found(chart({EYE: [(0, 1)]}))
        assert found is not None
        assert (found.urgency, "gcs-total" in measures_of(found)) == (E, False)

    def test_a_part_that_cannot_be(self) -> None:
        """Eyes of 0 are no answer, and no reason to stop the review."""
        answer = answer_of(patient(), observation("e", "9267-6", valueInteger=0))
        assert [f.key for f in answer.reviews[0].findings if f.kind is Kind.ARTEFACT] == [
            "impossible-gcs-eye"
        ]

    def test_course_after_a_treatment(self) -> None:
        """The parts before and after naloxone-like moments are read as totals are."""
        parts = {EYE: (2, 4), VERBAL: (2, 5), MOTOR: (4, 6)}
        by_parts = chart({signal: [(5, low), (1, high)] for signal, (low, high) in parts.items()})
        by_total = chart({GCS: [(5, 8), (1, 15)]})
        first, second = _found(by_parts), _found(by_total)
        assert first is not None
        assert second is not None
        assert (first.urgency, first.state, measures_of(first)["gcs-total"]) == (
            second.urgency,
            second.state,
            measures_of(second)["gcs-total"],
        )


class TestContradictions:
    """In one round the worse counts, and both are said (our choice)."""

    @pytest.mark.parametrize("times", [(1.0, 1.1), (1.1, 1.0)])
    @pytest.mark.parametrize(
        ("worse", "urgency"), [(w, CALLS[w]) for w in ACVPU if w is not Consciousness.ALERT]
    )
    def test_two_answers_in_either_order(
        self, times: tuple[float, float], worse: Consciousness, urgency: Urgency
    ) -> None:
        """Six minutes apart is one round."""
        record = rounds(
            (1, {ACVPU_SIGNAL: None}),
            codes={ACVPU_SIGNAL: [(times[0], Consciousness.ALERT), (times[1], worse)]},
        )
        found = _found(record)
        assert found is not None
        assert found.urgency is urgency
        assert (
            f"Alert and {worse.value.replace('-', ' ')} are both recorded; the worse counts."
            in found.sentence
        )
        assert scores(record, "news2")[0].highest >= 3

    @pytest.mark.parametrize("order", [("alert", "unresponsive"), ("unresponsive", "alert")])
    def test_at_one_instant(self, order: tuple[str, str]) -> None:
        """Read as FHIR, in either order, and whichever was issued later."""
        both = [
            {**alertness(one), "id": one, "issued": f"2026-03-01T10:0{n}:00+04:00"}
            for n, one in enumerate(order)
        ]
        answer = answer_of(patient(), *full_set(consciousness=None), *both)
        found = next(f for f in answer.reviews[0].findings if f.key == "consciousness")
        assert found.urgency is E
        assert "Alert and unresponsive are both recorded" in found.sentence
        assert points_of(score_in(answer))["consciousness"] == 3

    def test_a_correction_is_no_contradiction(self) -> None:
        """A corrected answer takes the place of the one before."""
        corrected = {**alertness("alert"), "id": "later", "status": "corrected"}
        answer = answer_of(patient(), alertness("unresponsive"), corrected)
        assert not [f for f in answer.reviews[0].findings if f.key == "consciousness"]

    def test_only_the_latest_is_carried_forward(self) -> None:
        """An answer of 50 minutes ago does not contradict a full coma scale of 10 minutes ago."""
        record = rounds(
            (0, {ACVPU_SIGNAL: None}),
            codes={ACVPU_SIGNAL: [(0.9, Consciousness.VOICE)]},
            numbers={GCS: [(0.4, 15)]},
        )
        assert points_of(scores(record, "news2")[0])["consciousness"] == 0

    def test_hours_apart_is_a_course(self) -> None:
        """Unresponsive at one round and alert at the next: past, and said with its times."""
        found = _found(_said((5, Consciousness.UNRESPONSIVE), (1, Consciousness.ALERT)))
        assert found is not None
        assert (found.urgency, found.state) == (R, State.SETTLING)
        assert found.sentence == "Was unresponsive at 03:00 on 12 March; alert at 07:00 on 12 March."

    @pytest.mark.parametrize(("total", "urgency"), [(14, None), (13, U), (8, E), (3, E)])
    def test_alert_beside_a_coma_scale(self, total: int, urgency: Urgency | None) -> None:
        """14 leaves the answer to tell whether confusion is new; less contradicts "alert"."""
        record = chart({GCS: [(1, total)]}, codes={ACVPU_SIGNAL: [(1, Consciousness.ALERT)]})
        assert _urgency(record) is urgency


class TestUsualConfusion:
    """Clin Med 2019;19:190-191: new-onset or worsening confusion; what is usual does not score."""

    @pytest.mark.parametrize(
        ("said", "usual", "points"),
        [
            ("Confusion", True, 0),
            ("confused", True, 0),
            ("Confusion", False, 3),
            ("Confusion", None, 3),
            ("New confusion", True, 3),
            ("Acute confusion", True, 3),
            ("C", True, 3),
            ("V", True, 3),
            ("Alert", True, 0),
        ],
    )
    def test_words(self, said: str, usual: bool | None, points: int) -> None:
        """The plain word is this person's normal; new, acute, V and less are a worsening."""
        state = observation(
            "u", "usual-confusion", system=LOCAL, valueBoolean=usual, at="2026-02-20T10:00:00+04:00"
        )
        word = observation(
            "c", "1104441000000107", system="http://snomed.info/sct", valueCodeableConcept={"text": said}
        )
        told = [state] if usual is not None else []
        answer = answer_of(patient(), *told, *full_set(consciousness=None), word)
        assert points_of(score_in(answer))["consciousness"] == points
        assert bool([f for f in answer.reviews[0].findings if f.key == "consciousness"]) is (points > 0)

    @pytest.mark.parametrize(
        ("parts", "urgency"),
        [((4, 4, 6), None), ((4, 5, 5), U), ((4, 3, 6), U), ((3, 5, 6), U), ((4, 4, 5), U)],
    )
    def test_coma_scale(self, parts: tuple[int, int, int], urgency: Urgency | None) -> None:
        """Only confused speech is explained by it: 14 of eyes or movement is not."""
        record = chart(
            {signal: [(1, value)] for signal, value in zip((EYE, VERBAL, MOTOR), parts, strict=True)},
            codes=USUAL,
        )
        assert _urgency(record) is urgency

    @pytest.mark.parametrize(("total", "urgency"), [(15, None), (14, None), (13, U), (8, E)])
    def test_total(self, total: int, urgency: Urgency | None) -> None:
        """14 as usual, 13 is a worsening."""
        assert _urgency(chart({GCS: [(1, total)]}, codes=USUAL)) is urgency

    def test_usual_confusion_with_a_lower_scale_is_a_worsening(self) -> None:
        """Confusion as usual, and a coma scale of 12 that it does not explain."""
        found = _found(chart({GCS: [(1, 12)]}, codes={ACVPU_SIGNAL: [(1, Consciousness.CONFUSION)], **USUAL}))
        assert found is not None
        assert found.urgency is U
        assert "Confusion and coma scale 12 are both recorded" in found.sentence

    def test_how_to_say_that_it_is_no_worse(self) -> None:
        """The finding tells the word that does not score."""
        found = _found(chart(codes={ACVPU_SIGNAL: [(1, Consciousness.NEW_CONFUSION)], **USUAL}))
        assert found is not None
        assert any("record it as confusion, not new" in caution for caution in found.cautions)

    def test_a_listed_problem_counts_as_well(self) -> None:
        record = _said((1, Consciousness.CONFUSION), conditions=(condition(ConditionKind.CHRONIC_CONFUSION),))
        assert _urgency(record) is None


class TestOld:
    """What is old is not told as now."""

    @pytest.mark.parametrize(
        ("hours", "urgency", "past"),
        [(12, E, False), (12.1, E, True), (24, E, True), (24.1, R, True), (48.1, None, True)],
    )
    def test_age(self, hours: float, urgency: Urgency | None, past: bool) -> None:
        """Ours: after 12 hours with its time, after 24 in the past, after 48 no longer."""
        found = _found(_said((hours, Consciousness.UNRESPONSIVE)))
        assert (found.urgency if found else None) is urgency
        if found is not None:
            assert ("not recorded since" in found.sentence) is past
            assert found.sentence.startswith("Was unresponsive") is (hours > 24)

    def test_several_answers_at_one_instant_keep_the_best_beside_the_worst(self) -> None:
        """As the reader hands it over."""
        at = ago(1)
        best = CodedObservation(
            Consciousness.ALERT, at, answers(ACVPU_SIGNAL, [(1, Consciousness.ALERT)]).items[0].origin
        )
        worst = replace(best, value=Consciousness.PAIN, beside=best)
        assert _urgency(chart(codes={ACVPU_SIGNAL: Series([worst])})) is E


@pytest.mark.parametrize(
    ("medicine", "key"), [("Propofol 1% infusion", "propofol"), ("Midazolam 5 mg", "benzodiazepine")]
)
def test_an_anaesthetic_without_a_tube_is_named_and_calms_nobody(medicine: str, key: str) -> None:
    """Common practice, no source: where no tube is on record somebody has to look who holds the airway."""
    record = rounds(
        (1, {CodedSignal.CONSCIOUSNESS: Consciousness.UNRESPONSIVE}),
        orders=(order(medicine, key, route=Route.INTRAVENOUS),),
    )
    found = _found(record)
    assert found is not None
    assert found.urgency is E
    assert ("Propofol 1% infusion and no tube or ventilator on record" in found.brief) is (key == "propofol")


class TestGlucose:
    """ABCDE (from memory): glucose is measured in everybody who is not alert; the hour around it is ours."""

    @pytest.mark.parametrize(
        ("hours", "is_asked"),
        [(None, True), (2.01, True), (2.0, False), (1.0, False), (0.5, False)],
    )
    def test_it_is_asked_for_at_once(self, hours: float | None, is_asked: bool) -> None:
        numbers = {Signal.GLUCOSE: [(hours, "6.0")]} if hours is not None else {}
        found = _found(rounds((1, {ACVPU_SIGNAL: Consciousness.VOICE}), numbers=numbers))
        assert found is not None
        assert (found.at_once == "Glucose now") is is_asked

    def test_not_where_it_is_over(self) -> None:
        found = _found(rounds((3, {ACVPU_SIGNAL: Consciousness.VOICE}), (1, {})))
        assert found is not None
        assert not found.at_once


@pytest.mark.parametrize(
    ("shown", "said"),
    [
        ({GCS: 13, ACVPU_SIGNAL: None}, "coma scale 13"),
        ({GCS: 13, ACVPU_SIGNAL: Consciousness.NEW_CONFUSION}, "new confusion"),
        ({ACVPU_SIGNAL: Consciousness.NEW_CONFUSION}, "new confusion"),
    ],
)
def test_a_total_does_not_call_a_coma_scale_confusion(shown: dict[Any, Any], said: str) -> None:
    """Whether confusion is new, and whether it is confusion at all, no coma scale tells."""
    parts = {part.key: part.short for part in scores(rounds((1, shown)), "news2")[-1].parts}
    assert parts["consciousness"] == said


def test_a_tube_of_this_stay_is_not_said_to_be_on_no_record() -> None:
    """Nothing of now says that it is still in; that one was put in stands on record."""
    tube = was_done(ProcedureKind.VENTILATION, hours=30, text="Endotracheal intubation")
    record = rounds(
        (1, {CodedSignal.CONSCIOUSNESS: Consciousness.UNRESPONSIVE}),
        orders=(order("Propofol 1% infusion", "propofol", route=Route.INTRAVENOUS),),
        procedures=(tube,),
    )
    found = _found(record)
    assert found is not None
    assert "Propofol 1% infusion and no tube or ventilator recorded now" in found.brief
