"""Is the blood pressure dangerously high, and is anything suffering from it?

In adults 180/120 with a sign of harm is an emergency, in children a systolic far above the centile of the
age. In pregnancy and for 42 days after it
the limits are lower, and platelets, creatinine and liver tests are read with it. The diastolic
pressure is always shown.
"""

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta

from weatherglass.assessments.telling.basis import About, rests_on, tell
from weatherglass.facts.bedside import Bedside
from weatherglass.facts.results.preeclampsia import PREECLAMPSIA_RESULTS, hellp_since, preeclampsia_results
from weatherglass.facts.rounds.pressure_course import Kept
from weatherglass.facts.rounds.timeline import ObservationSet
from weatherglass.facts.series.limits_met import counting
from weatherglass.facts.series.runs import Run, run_at_level
from weatherglass.knowledge.medicines.medicine_classes import MedicineClass
from weatherglass.knowledge.signs import heart_and_pressure as limits
from weatherglass.knowledge.signs import trend_limits
from weatherglass.knowledge.word_patterns import word_patterns
from weatherglass.model.findings import Finding, Kind, Urgency
from weatherglass.model.numbers.quantities import plain
from weatherglass.model.plain import Plain
from weatherglass.model.record.problems import Condition, ConditionKind
from weatherglass.model.record.values import Measurement
from weatherglass.model.signals import Consciousness, Letter, Signal
from weatherglass.model.sources import Cited, Origin
from weatherglass.model.tables.bands import Cutoff
from weatherglass.model.words.lists import inside_a_sentence, listed
from weatherglass.model.words.value_words import limit_words, value_words

_BRIDGE = trend_limits.REPEAT_AFTER.length
_WORDS = word_patterns("asked-patterns.toml")
_RETINA = _WORDS["retina"]
_PHAEO = _WORDS["phaeochromocytoma"]
_ISCHAEMIA = _WORDS["ischaemia"]
_OF_LATE = timedelta(days=2)
_HEADACHES = (ConditionKind.HEADACHE, ConditionKind.SEVERE_HEADACHE)
_OF_THE_BRAIN = (ConditionKind.DISTURBED_SIGHT, ConditionKind.SEIZURE)
_LEFT_BELOW = (limits.LEFT_SYSTOLIC, limits.LEFT_DIASTOLIC)
_FAILING = _WORDS["failing-heart"]


class _Pressure(Plain, frozen=True):
    """The pressures of one round; one of them may be missing or only a limit."""

    at: datetime
    systolic: Measurement | None
    diastolic: Measurement | None

    @property
    def words(self) -> str:
        """Both, as they are said: '172/112 mmHg'."""
        if self.systolic is None:
            return f"diastolic {plain(self.diastolic.value)} mmHg" if self.diastolic is not None else ""
        below = f"/{plain(self.diastolic.value)}" if self.diastolic is not None else ""
        return f"{plain(self.systolic.value)}{below} mmHg"

    @property
    def parts(self) -> tuple[tuple[Signal, Measurement], ...]:
        """What was measured."""
        both = ((Signal.SYSTOLIC_PRESSURE, self.systolic), (Signal.DIASTOLIC_PRESSURE, self.diastolic))
        return tuple((signal, one) for signal, one in both if one is not None)


class _Sign(Plain, frozen=True):
    """Something that suffers, or makes a pressure matter more; `since` where it is dated."""

    words: str
    origin: Origin | None
    since: datetime | None


def assess_high_pressure(bedside: Bedside) -> Iterator[Finding]:
    """Judge the newest pressure of a day, in adults and in pregnancy."""
    measured = [one for one in map(_reading, bedside.sets) if one.parts]
    readings = counting(measured, bedside.as_of, bedside.choices.look_back)
    if bedside.is_pregnant_or_recently:
        yield from _of_pregnancy(bedside, readings)
    elif readings and bedside.is_child:
        yield from _of_a_child(bedside, readings)
    elif readings and bedside.dysreflexia is None:
        yield from _of_an_adult(bedside, readings)


def _reading(one: ObservationSet) -> _Pressure:
    both = [one.number(signal) for signal in (Signal.SYSTOLIC_PRESSURE, Signal.DIASTOLIC_PRESSURE)]
    exact = [each if each is not None and each.is_exact else None for each in both]
    return _Pressure(one.end, *exact)


def _is_beyond(one: _Pressure, systolic: Cutoff, diastolic: Cutoff) -> bool:
    if one.systolic is not None and systolic.is_met_by(one.systolic.value):
        return True
    return one.diastolic is not None and diastolic.is_met_by(one.diastolic.value)


def _run(readings: Sequence[_Pressure], levels: Sequence[int]) -> Run | None:
    if not readings or not levels[-1]:
        return None
    return run_at_level([one.at for one in readings], levels, bridge=_BRIDGE)


# Adults


def _of_an_adult(bedside: Bedside, readings: Sequence[_Pressure]) -> Iterator[Finding]:
    levels = [int(_is_beyond(one, limits.SEVERE_SYSTOLIC, limits.SEVERE_DIASTOLIC)) for one in readings]
    run = _run(readings, levels)
    if run is None:
        return
    newest = readings[-1]
    signs = list(_signs(bedside))
    brain = list(_after_a_stroke(bedside))
    left = [] if signs or brain or _is_beyond(newest, *_LEFT_BELOW) else list(_after_ischaemia(bedside))
    urgency = Urgency.EMERGENCY if signs else Urgency.URGENT if brain else Urgency.PROMPT
    if left:
        urgency = Urgency.ROUTINE
    told = signs or brain or left
    beside = f" with {listed([sign.words for sign in told])}" if told else ""
    yield tell(
        About(Kind.HIGH_PRESSURE, "high-pressure", Letter.CIRCULATION),
        urgency,
        rests_on(
            bedside,
            run,
            *newest.parts,
            *(sign.origin for sign in (*signs, *brain, *left)),
            at=newest.at,
            asked_since=_asked_since(run, signs or brain),
        ),
        brief=f"Severe hypertension {newest.words}{beside}",
        sentence=f"Severe hypertension, {newest.words}{beside}{_asks(urgency)}.",
        sources=(
            limits.SEVERE_SYSTOLIC,
            *((limits.SIGNS_BESIDE,) if signs else ()),
            limits.LEFT_SYSTOLIC if left else limits.PRESSURE_URGENCY,
        ),
        decided_by=f"{_from(limits.SEVERE_SYSTOLIC, limits.SEVERE_DIASTOLIC)}{beside}",
    )


# Children


def _of_a_child(bedside: Bedside, readings: Sequence[_Pressure]) -> Iterator[Finding]:
    """Hold the systolic pressure against the age: severe by itself, high beside a sign of harm."""
    levels = [_level_of_a_child(bedside, one) for one in readings]
    run = _run(readings, levels)
    signs = [*_signs(bedside), *_symptoms_of(bedside, (*_HEADACHES, *_OF_THE_BRAIN))]
    is_severe = levels[-1] > 1
    if run is None or not (is_severe or signs):
        return
    newest = readings[-1]
    asks = limits.CHILD_ASKS if bedside.altered_mind is None else limits.CHILD_IS_DULL
    beside = f" with {listed([inside_a_sentence(sign.words) for sign in signs])}" if signs else ""
    head = f"{'Severe' if is_severe else 'High'} pressure for the age, {newest.words}{beside}"
    is_worst = is_severe and bool(signs)
    is_headache = len(signs) == 1 and not is_severe and bool(_symptoms_of(bedside, _HEADACHES))
    is_again = (bool(signs) and not is_headache) or (len(levels) > 1 and levels[-2] > 1)
    yield tell(
        About(Kind.HIGH_PRESSURE, "high-pressure-of-a-child", Letter.CIRCULATION),
        Urgency.EMERGENCY if is_worst else Urgency.URGENT if is_again else Urgency.PROMPT,
        rests_on(
            bedside,
            run,
            *newest.parts,
            *(sign.origin for sign in signs),
            at=newest.at,
            asked_since=_asked_since(run, signs),
        ),
        brief=head,
        asks=asks.text,
        sources=(
            limits.CHILD_CENTILE,
            (limits.CHILD_SEVERE if is_severe else limits.CHILD_HIGH),
            asks,
            limits.CHILD_URGENCY,
        ),
        decided_by="a systolic pressure far above the 95th centile of the age",
    )


def _level_of_a_child(bedside: Bedside, one: _Pressure) -> int:
    """Return 2 for a severe pressure of this age, 1 for a high one."""
    years = bedside.age
    if not years or one.systolic is None:
        return 0
    centile = limits.CHILD_CENTILE.value + limits.CHILD_CENTILE_A_YEAR.value * years
    above = (limits.CHILD_HIGH.value, limits.CHILD_SEVERE.value)
    return sum(one.systolic.value >= centile + more for more in above)


def _symptoms_of(bedside: Bedside, kinds: Sequence[ConditionKind]) -> list[_Sign]:
    """Name what a high pressure may do to the brain, written down of late."""
    return [
        _Sign(inside_a_sentence(told.text), told.origin, told.at)
        for told in bedside.record.told_of(*kinds)
        if told.at is not None and bedside.as_of - told.at <= _OF_LATE
    ]


def _asks(urgency: Urgency) -> str:
    if urgency is Urgency.EMERGENCY:
        # Pressure inside the skull raises it too: lowering it is for whoever has looked.
        return ": senior review now"
    if urgency is Urgency.URGENT:
        return ": the pressure limits of the stroke team apply"
    if urgency is Urgency.ROUTINE:
        highest = _from(limits.LEFT_SYSTOLIC, limits.LEFT_DIASTOLIC).removesuffix(" or more")
        return f": below {highest.removeprefix('a pressure of ')} it is usually left in the first days"
    return ": repeat it at rest, look for pain, a full bladder and missed doses"


def _asked_since(run: Run, signs: Sequence[_Sign]) -> datetime | None:
    """Return when pressure and the first dated sign were both there."""
    dated = [sign.since for sign in signs if sign.since is not None]
    if len(dated) < len(signs) or not signs:
        return run.since
    return max(run.since, min(dated))


def _signs(bedside: Bedside) -> Iterator[_Sign]:
    """Name what a severe pressure may already be harming."""
    flow = bedside.perfusion
    if flow.alert_kept is Kept.NO:
        origin = flow.alertness_origins[0] if flow.alertness_origins else None
        mind = bedside.altered_mind
        is_confused = flow.alertness is Consciousness.NEW_CONFUSION
        words = mind.words if mind is not None and is_confused else "reduced alertness"
        yield _Sign(words, origin, bedside.not_alert_since)
    yield from _listed_signs(bedside)
    if bedside.aki_now.stage:
        yield _Sign("acute kidney injury", None, None)


def _listed_signs(bedside: Bedside) -> Iterator[_Sign]:
    for condition in bedside.record.conditions:
        if condition.active:
            words = _harm(bedside, condition)
            if words:
                yield _Sign(words, condition.origin, condition.began)


def _harm(bedside: Bedside, condition: Condition) -> str:
    """Say which sign of harm a problem on the list is; empty where it is none."""
    text, kinds = condition.text.casefold(), condition.kinds
    if ConditionKind.CHEST_PAIN in kinds or ConditionKind.ACUTE_CORONARY_SYNDROME in kinds:
        return inside_a_sentence(condition.text)
    if ConditionKind.FLUID_OVERLOAD in kinds:
        return inside_a_sentence(condition.text)
    if ConditionKind.HEART_FAILURE in kinds and (_FAILING.search(text) or _is_short_of_breath(bedside)):
        return inside_a_sentence(condition.text)
    return inside_a_sentence(condition.text) if _RETINA.search(text) or _PHAEO.search(text) else ""


def _is_short_of_breath(bedside: Bedside) -> bool:
    """Tell whether oxygen is given, or breathing and saturation of the newest round ask for it."""
    if bedside.oxygen_now is not None and bedside.oxygen_now.is_oxygen:
        return True
    newest = bedside.sets[-1]
    return any(
        one is not None and one.is_exact and cutoff.is_met_by(one.value)
        for one, cutoff in (
            (newest.number(Signal.RESPIRATION_RATE), limits.FAILING_BREATHING),
            (newest.number(Signal.SPO2), limits.FAILING_SATURATION),
        )
    )


def _after_ischaemia(bedside: Bedside) -> Iterator[_Sign]:
    """Name an ischaemic stroke of the first days, in which a high pressure is expected."""
    if bedside.record.has(ConditionKind.INTRACRANIAL_BLEEDING):
        return
    for told in bedside.record.told_of(ConditionKind.STROKE, ConditionKind.ACUTE_STROKE):
        is_of_now = told.at is not None and bedside.as_of - told.at <= limits.LEFT_FOR.length
        if is_of_now and _ISCHAEMIA.match(told.text.casefold()):
            yield _Sign(told.text, told.origin, told.at)


def _after_a_stroke(bedside: Bedside) -> Iterator[_Sign]:
    window = limits.AFTER_STROKE_FOR.length
    for told in bedside.record.told_of(
        ConditionKind.STROKE, ConditionKind.ACUTE_STROKE, ConditionKind.STROKE_SIGNS
    ):
        if told.at is not None and bedside.as_of - told.at <= window:
            yield _Sign(told.text, told.origin, told.at)
    for dose in bedside.record.administrations:
        given = dose.until
        if MedicineClass.THROMBOLYTIC in dose.medicine.classes and bedside.as_of - given <= window:
            yield _Sign(f"{dose.medicine.text} given {bedside.clock.at(dose.at)}", dose.origin, dose.at)


# Pregnancy and 42 days after


def _of_pregnancy(bedside: Bedside, readings: Sequence[_Pressure]) -> Iterator[Finding]:
    levels = [_pregnant_level(one) for one in readings]
    run = _run(readings, levels)
    results = tuple(preeclampsia_results(bedside))
    blood = tuple((signal, one.newest) for signal, one in results)
    hellp = hellp_since(bedside)
    is_hellp = hellp is not None
    if run is None and not is_hellp:
        return
    level = levels[-1] if run is not None else 0
    newest = readings[-1] if run is not None else None
    parts = (*(newest.parts if newest is not None else ()), *blood)
    is_usual = bedside.record.known_of(ConditionKind.HYPERTENSION) and not _is_preeclampsia(bedside)
    is_held = _is_preeclampsia(bedside) and _is_held(bedside, readings)
    alone = Urgency.ROUTINE if is_usual or is_held else Urgency.PROMPT
    asks = tuple(_pregnant_reasons(readings, levels, [one.since for _, one in results], hellp, alone))
    urgency = max(soon for soon, _ in asks)
    yield tell(
        About(Kind.HIGH_PRESSURE, "pregnancy-pressure", Letter.CIRCULATION),
        urgency,
        rests_on(
            bedside,
            min(since for _, since in asks),
            *parts,
            at=newest.at if newest is not None else None,
            asked_since=min((since for soon, since in asks if soon >= urgency), default=None),
        ),
        brief=_pregnant_brief(newest, level, blood, hellp=_hellp(bedside, is_hellp, "to be excluded")),
        sentence=_pregnant_sentence(
            newest,
            level,
            blood,
            hellp=_hellp(bedside, is_hellp, "has to be excluded"),
            known=_known_asks(bedside, is_held=is_held),
        ),
        sources=(
            *_pregnant_sources(level, blood, is_hellp=is_hellp),
            *((limits.PREGNANT_TREATED_SYSTOLIC, limits.PREGNANT_AIM) if is_held else ()),
        ),
        cautions=("The limits of 140/90 and 160/110 are from memory; check them locally.",) if level else (),
        decided_by=_pregnant_rule(level, blood, is_hellp=is_hellp),
    )


def _hellp(bedside: Bedside, is_hellp: bool, asked: str) -> str:
    """Say what the blood fits, as something to look for or as what is on record already."""
    if not is_hellp:
        return ""
    is_named = any(
        "hellp" in one.text.casefold() for one in bedside.record.told_of(ConditionKind.PREECLAMPSIA)
    )
    return f": HELLP syndrome{', as recorded' if is_named else f' {asked}'}"


_ASKS = ": urine protein and blood tests for pre-eclampsia"
#: Nobody looks for what is already known: how it goes decides.
_KNOWN_ASKS = ", pre-eclampsia on record: how it goes and what follows from it is for obstetrics"


def _known_asks(bedside: Bedside, *, is_held: bool) -> str:
    """Say what follows where pre-eclampsia is known; empty where it is not."""
    if is_held:
        return f", pre-eclampsia on record and under treatment: the aim is {limits.PREGNANT_AIM.text}"
    return _KNOWN_ASKS if _is_preeclampsia(bedside) else ""


def _is_held(bedside: Bedside, readings: Sequence[_Pressure]) -> bool:
    """Tell whether treatment has kept the pressure below the limit of its own for half a day."""
    if not readings or readings[-1].at - readings[0].at < limits.PREGNANT_TREATED_FOR.length:
        return False
    treated = (limits.PREGNANT_TREATED_SYSTOLIC, limits.PREGNANT_TREATED_DIASTOLIC)
    is_above = any(_is_beyond(one, *treated) for one in readings)
    return not is_above and bool(bedside.on_chart(limits.PREGNANT_TREATED_WITH))


def _pregnant_level(one: _Pressure) -> int:
    if _is_beyond(one, limits.PREGNANT_SEVERE_SYSTOLIC, limits.PREGNANT_SEVERE_DIASTOLIC):
        return 2
    return int(_is_beyond(one, limits.PREGNANT_SYSTOLIC, limits.PREGNANT_DIASTOLIC))


def _is_preeclampsia(bedside: Bedside) -> bool:
    return bedside.record.has(ConditionKind.PREECLAMPSIA)


def _pregnant_reasons(
    readings: Sequence[_Pressure],
    levels: Sequence[int],
    blood: Sequence[datetime],
    hellp: datetime | None,
    alone: Urgency,
) -> Iterator[tuple[Urgency, datetime]]:
    """Yield each reason to ask, how soon and since when: a worse pressure takes no earlier reason back."""
    severe = _run(readings, [int(level > 1) for level in levels])
    if severe is not None:
        yield Urgency.EMERGENCY, severe.since
    high = _run(readings, [int(level > 0) for level in levels])
    if high is None:
        if hellp is not None:
            yield Urgency.URGENT, hellp
        return
    yield alone, high.since
    if blood:
        yield Urgency.URGENT, max(high.since, min(blood))
    if hellp is not None:
        yield Urgency.EMERGENCY, max(high.since, hellp)


def _pregnant_sentence(
    newest: _Pressure | None,
    level: int,
    blood: Sequence[tuple[Signal, Measurement]],
    *,
    hellp: str,
    known: str,
) -> str:
    results = listed([f"{signal.short} {value_words(signal, one)}" for signal, one in blood]) if blood else ""
    if newest is None:
        return f"In pregnancy or up to 42 days after, {results}{hellp}."
    how = "Severe hypertension" if level > 1 else "High pressure"
    beside = f", with {results}{'' if known else ', as in pre-eclampsia'}" if results else ""
    asks = hellp or (": obstetric team now" if level > 1 else known or _ASKS)
    return f"{how} in pregnancy or up to 42 days after, {newest.words}{beside}{asks}."


def _pregnant_brief(
    newest: _Pressure | None, level: int, blood: Sequence[tuple[Signal, Measurement]], *, hellp: str
) -> str:
    results = listed([f"{signal.short} {plain(one.value)}" for signal, one in blood]) if blood else ""
    if newest is None:
        return f"In or after pregnancy {results}{hellp}"
    how = "Severe hypertension" if level > 1 else "High pressure"
    beside = f" with {results}" if results else ""
    return f"{how} in or after pregnancy, {newest.words}{beside}{hellp}"


def _pregnant_sources(
    level: int, blood: Sequence[tuple[Signal, Measurement]], *, is_hellp: bool
) -> Iterator[Cited]:
    if level:
        yield (limits.PREGNANT_SEVERE_SYSTOLIC if level > 1 else limits.PREGNANT_SYSTOLIC)
    cutoffs = dict(PREECLAMPSIA_RESULTS)
    yield from dict.fromkeys(cutoffs[signal] for signal, _ in blood)
    if is_hellp:
        yield limits.HELLP_PLATELETS


def _from(systolic: Cutoff, diastolic: Cutoff) -> str:
    return f"a pressure of {systolic.limit.value}/{diastolic.limit.value} mmHg or more"


def _pregnant_rule(level: int, blood: Sequence[tuple[Signal, Measurement]], *, is_hellp: bool) -> str:
    if is_hellp:
        return f"platelets {limit_words(limits.HELLP_PLATELETS, with_unit=False)} with raised liver tests"
    severe = (limits.PREGNANT_SEVERE_SYSTOLIC, limits.PREGNANT_SEVERE_DIASTOLIC)
    pressure = _from(*(severe if level > 1 else (limits.PREGNANT_SYSTOLIC, limits.PREGNANT_DIASTOLIC)))
    return f"{pressure} with {blood[0][0].label} as in pre-eclampsia" if blood else pressure
