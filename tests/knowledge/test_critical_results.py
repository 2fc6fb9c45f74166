"""Critical results and gas: each limit at its printed number and one step short of it."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from weatherglass.knowledge.limits import critical_results as critical
from weatherglass.knowledge.limits.critical_results import CRITICAL_RESULTS
from weatherglass.model.tables.bands import Compare, Cutoff
from weatherglass.model.tables.critical_band import CriticalBand

RANK = {"emergency": 3, "urgent": 2, "prompt": 1, "routine": 0}
KEYS = tuple(dict.fromkeys(band.key for band in CRITICAL_RESULTS))


def _first(key: str, value: Decimal) -> CriticalBand | None:
    for band in CRITICAL_RESULTS:
        if band.key == key and band.cutoff.is_met_by(value):
            return band
    return None


@pytest.mark.parametrize(
    ("key", "value", "urgency"),
    [
        # UK Kidney Association 2023: 5.5-5.9 mild, 6.0-6.4 moderate, 6.5 and above severe.
        ("potassium-high", "5.4", None),
        ("potassium-high", "5.5", "prompt"),
        ("potassium-high", "5.9", "prompt"),
        ("potassium-high", "6.0", "urgent"),
        ("potassium-high", "6.4", "urgent"),
        ("potassium-high", "6.5", "emergency"),
        # South West London Pathology: <= 2.5; Royal Melbourne: < 3.0; 3.5 from memory.
        ("potassium-low", "3.5", None),
        ("potassium-low", "3.4", "routine"),
        ("potassium-low", "3.0", "routine"),
        ("potassium-low", "2.9", "urgent"),
        ("potassium-low", "2.6", "urgent"),
        ("potassium-low", "2.5", "emergency"),
        # South West London Pathology: <= 120, >= 160; Homerton < 125; Royal Melbourne > 150.
        ("sodium-low", "125", None),
        ("sodium-low", "124", "prompt"),
        ("sodium-low", "121", "prompt"),
        ("sodium-low", "120", "urgent"),
        ("sodium-high", "150", None),
        ("sodium-high", "151", "prompt"),
        ("sodium-high", "159", "prompt"),
        ("sodium-high", "160", "urgent"),
        # JBDS: below 4.0; 3.0 from memory; Heart of England: 2.5.
        ("glucose-low", "4.0", None),
        ("glucose-low", "3.9", "urgent"),
        ("glucose-low", "3.0", "urgent"),
        ("glucose-low", "2.9", "emergency"),
        ("glucose-low", "2.5", "emergency"),
        # South West London Pathology: >= 25; Heart of England: > 20; 11.0 from memory.
        ("glucose-high", "11.0", None),
        ("glucose-high", "11.1", "routine"),
        ("glucose-high", "20", "routine"),
        ("glucose-high", "20.1", "prompt"),
        ("glucose-high", "25", "urgent"),
        # JBDS ketoacidosis: 3.0 or more; NHS England, My Type 1 Diabetes: anything above 1.5.
        ("ketones-high", "1.5", None),
        ("ketones-high", "1.6", "prompt"),
        ("ketones-high", "2.9", "prompt"),
        ("ketones-high", "3.0", "emergency"),
        # South Tees: below 1.0; Homerton: below 0.5, NICE CG151: 0.5 or lower.
        ("neutrophils-low", "1.0", None),
        ("neutrophils-low", "0.99", "prompt"),
        ("neutrophils-low", "0.51", "prompt"),
        ("neutrophils-low", "0.5", "urgent"),
        # Surviving Sepsis Campaign hour-1 bundle: > 2, >= 4.
        ("lactate-high", "2.0", None),
        ("lactate-high", "2.1", "prompt"),
        ("lactate-high", "3.9", "prompt"),
        ("lactate-high", "4.0", "emergency"),
        # Barnsley: Hb < 70, platelets < 50, INR > 5.0; 30 from memory; BCSH: INR > 8.0.
        ("haemoglobin-low", "70", None),
        ("haemoglobin-low", "69", "urgent"),
        ("platelets-low", "50", None),
        ("platelets-low", "49", "prompt"),
        ("platelets-low", "30", "prompt"),
        ("platelets-low", "29", "urgent"),
        ("inr-high", "5.0", None),
        ("inr-high", "5.1", "prompt"),
        ("inr-high", "8.0", "prompt"),
        ("inr-high", "8.1", "urgent"),
        # South West London Pathology and Heart of England.
        ("creatinine-high", "349", None),
        ("creatinine-high", "350", "urgent"),
        ("urea-high", "29.9", None),
        ("urea-high", "30", "prompt"),
        ("crp-high", "299", None),
        ("crp-high", "300", "prompt"),
        # Society for Endocrinology 2016: below 1.9; 3.0 to 3.5, above 3.5.
        ("calcium-low", "2.0", None),
        ("calcium-low", "1.99", "prompt"),
        ("calcium-low", "1.9", "prompt"),
        ("calcium-low", "1.89", "emergency"),
        ("calcium-high", "2.99", None),
        ("calcium-high", "3.0", "urgent"),
        ("calcium-high", "3.5", "urgent"),
        ("calcium-high", "3.51", "emergency"),
        ("magnesium-low", "0.41", "routine"),
        ("magnesium-low", "0.7", None),
        ("magnesium-low", "0.4", "urgent"),
    ],
)
def test_limits(key: str, value: str, urgency: str | None) -> None:
    """The first band that a result meets decides."""
    band = _first(key, Decimal(value))
    assert (band.urgency if band else None) == urgency


@pytest.mark.property
@pytest.mark.parametrize("key", KEYS)
@given(values=st.tuples(*[st.decimals(min_value=0, max_value=2000, places=2)] * 2))
def test_further_out_is_never_less_urgent(key: str, values: tuple[Decimal, Decimal]) -> None:
    """Inside one series, a more extreme result is at least as urgent."""
    upwards = any(
        band.cutoff.compare in {Compare.AT_LEAST, Compare.ABOVE}
        for band in CRITICAL_RESULTS
        if band.key == key
    )
    milder, worse = sorted(values, reverse=not upwards)
    first, second = _first(key, milder), _first(key, worse)
    if first is not None:
        assert second is not None
        assert RANK[second.urgency] >= RANK[first.urgency]


@pytest.mark.parametrize("key", KEYS)
def test_a_series_is_one_analyte_and_one_side(key: str) -> None:
    """Bands of one key share signal, unit and side, the most severe first."""
    bands = [band for band in CRITICAL_RESULTS if band.key == key]
    assert len({band.signal for band in bands}) == 1
    assert {band.cutoff.limit.unit for band in bands} == {bands[0].signal.unit}
    limits = [band.cutoff.limit.value for band in bands]
    assert limits == sorted(limits, reverse=key.endswith("-high"))


@pytest.mark.parametrize(
    ("cutoff", "not_met", "met"),
    [
        # Thorax 2017;72:588 and BTS/ICS 2016.
        pytest.param(critical.ACIDAEMIA, "7.35", "7.34", id="pH-below-7.35"),
        pytest.param(critical.HYPERCAPNIA, "6.0", "6.1", id="pCO2-above-6.0"),
        pytest.param(critical.VENTILATION_HYPERCAPNIA, "6.5", "6.6", id="pCO2-above-6.5"),
        # From memory.
        pytest.param(critical.BICARBONATE_LOW, "22", "21.9", id="bicarbonate-below-22"),
        pytest.param(critical.BICARBONATE_VERY_LOW, "18", "17.9", id="bicarbonate-below-18"),
        # NHS Greater Glasgow and Clyde, after UKKA 2023.
        pytest.param(critical.ECG_FOR_POTASSIUM, "5.9", "6.0", id="ecg-from-6.0"),
    ],
)
def test_gas_and_ecg_limits(cutoff: Cutoff, not_met: str, met: str) -> None:
    """Each limit holds on its printed side and not at the number before."""
    assert not cutoff.is_met_by(Decimal(not_met))
    assert cutoff.is_met_by(Decimal(met))
