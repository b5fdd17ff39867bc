"""Statistics against NIST's certified values, scipy, and printed worksheets of gauge studies."""

from __future__ import annotations

import math
import statistics
from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
import scipy.integrate
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from bayvoice.errors import BayError
from bayvoice.trade.statistics import _K1, _K2, _K3, capability, capability_of, chi_squared, gauge_study, summary

# NIST, Statistical Reference Datasets (StRD), Univariate Summary Statistics, each set's page of certified values: mean
# and standard deviation. The ninth set, PiDigits, is not here: its file was not at hand, and digits of pi worked out
# anew do not give its mean.
CERTIFIED = {
    "michelso": ("299.852400000000", "0.0790105478190518"),
    "mavro": ("2.00185600000000", "0.000429123454003053"),
    "lew": ("-177.435000000000", "277.332168044316"),
    "lottery": ("518.958715596330", "291.699727470969"),
    "numacc1": ("10000002", "1"),
    "numacc2": ("1.2", "0.1"),
    "numacc3": ("1000000.2", "0.1"),
    "numacc4": ("10000000.2", "0.1"),
}


def data_set(name: str) -> list[Decimal]:
    """As NIST publishes it; NumAcc 2 to 4 are made by the rule their pages give."""
    if name == "numacc1":
        return [Decimal(10000001), Decimal(10000003), Decimal(10000002)]
    base = {"numacc2": "1", "numacc3": "1000000", "numacc4": "10000000"}.get(name)
    if base:
        tenths = [Decimal("0.2")] + [Decimal("0.1"), Decimal("0.3")] * 500
        return [Decimal(base) + tenth for tenth in tenths]
    return [Decimal(word) for word in (Path(__file__).parent / "strd" / f"{name}.txt").read_text().split()]


@pytest.mark.parametrize("name", CERTIFIED)
def test_certified_values_to_the_last_digit(name: str) -> None:
    """Every digit certified, not a tolerance: ours rounded to as many figures is the certified one."""
    found = summary(data_set(name))
    assert found.sd is not None
    for ours, certified in zip((found.mean, found.sd), CERTIFIED[name], strict=True):
        digits = len(Decimal(certified).as_tuple().digits)
        assert Decimal(f"{ours:.{digits - 1}e}") == Decimal(certified), name


def test_the_easy_way_fails_on_such_data() -> None:
    """The one-pass formula in floating point has a negative variance on NumAcc4; this is why ours is exact."""
    values = [float(x) for x in data_set("numacc4")]
    n = len(values)
    naive = (sum(x * x for x in values) - sum(values) ** 2 / n) / (n - 1)
    assert naive < 0
    assert summary(data_set("numacc4")).sd == Decimal("0.1")


readings = st.lists(st.decimals(-1000, 1000, places=3), min_size=2, max_size=30)


@given(readings)
def test_agrees_with_the_standard_library(values: list[Decimal]) -> None:
    found = summary(values)
    assert found.sd is not None
    assert math.isclose(found.mean, statistics.fmean(values), rel_tol=1e-12, abs_tol=1e-12)
    assert math.isclose(found.sd, statistics.stdev(values), rel_tol=1e-12, abs_tol=1e-12)
    assert (found.least, found.most) == (min(values), max(values))
    assert found.spread == max(values) - min(values)


@given(readings, st.integers(-(10**12), 10**12))
def test_a_common_offset_changes_only_the_mean(values: list[Decimal], offset: int) -> None:
    """Badly conditioned data: the spread of readings does not know how far from zero they lie."""
    moved = summary([value + offset for value in values])
    assert moved.sd == summary(values).sd
    assert moved.spread == summary(values).spread


def test_few_readings() -> None:
    one = summary([Decimal("32.50")])
    assert (one.count, one.mean, one.sd, one.spread) == (1, Decimal("32.50"), None, Decimal(0))
    assert str(summary([Decimal("0.10"), Decimal("0.11"), Decimal("0.11")]).mean_as_read) == "0.11"
    assert str(summary([Decimal(7), Decimal(8)]).mean_as_read) == "8"  # halves to even
    assert str(summary([Decimal("1E+1"), Decimal("1E+1")]).mean_as_read) == "10"
    with pytest.raises(BayError, match="no reading"):
        summary([])
    with pytest.raises(BayError, match="not an ordinary number"):
        summary([Decimal("nan")])


def test_capability_worked_examples() -> None:
    """NIST/SEMATECH e-Handbook of Statistical Methods, 6.1.6 "What is process capability?" (from memory): USL 20, LSL
    8, mean 16, sd 2: Cp 1, Cpk 0.6667.

    Limits 1 ± 0.01, mean 1.002, sd 0.003: Cp 1.11 (solution of a coursework question on the web, no
    publication; by hand 0.02 / 0.018); Cpk 0.889 by hand.
    """
    nist = capability_of(16, 2, 50, Decimal(8), Decimal(20))
    assert nist.cp == pytest.approx(1)
    assert nist.cpk == pytest.approx(2 / 3)
    other = capability_of(1.002, 0.003, 50, Decimal("0.99"), Decimal("1.01"))
    assert other.cp == pytest.approx(1.11, abs=0.005)
    assert other.cpk == pytest.approx(0.008 / 0.009)


def test_capability_intervals() -> None:
    """Chi-squared by scipy; Cpk by the formula of the e-Handbook, worked here with scipy's normal quantile."""
    for count in (2, 5, 30, 200):
        found = capability_of(10.1, 0.2, count, Decimal(9), Decimal(11), 0.9)
        assert found.cp is not None
        quantiles = scipy.stats.chi2.ppf([0.05, 0.95], count - 1)
        assert found.cp_range == pytest.approx(tuple(found.cp * np.sqrt(quantiles / (count - 1))), rel=1e-9)
        half = scipy.stats.norm.ppf(0.95) * math.sqrt(1 / (9 * count) + found.cpk**2 / (2 * (count - 1)))
        assert found.cpk_range == pytest.approx((found.cpk - half, found.cpk + half), rel=1e-9)
        assert any("few" in sentence for sentence in found.conditions) == (count < 30)


def test_cp_interval_covers_as_often_as_it_says() -> None:
    """2,000 samples of ten from a known process: the 90 % interval holds the true Cp in about 90 of 100."""
    rng = np.random.default_rng(14253)
    sds = rng.normal(5.0, 0.5, size=(2000, 10)).std(axis=1, ddof=1)
    inside = 0
    for sd in sds:
        interval = capability_of(5.0, float(sd), 10, Decimal(3), Decimal(7), 0.9).cp_range
        assert interval is not None
        inside += interval[0] <= 4 / 3 <= interval[1]
    assert 0.88 < inside / 2000 < 0.92


def test_capability_one_sided_and_refused() -> None:
    found = capability([Decimal(v) for v in ("0.05", "0.06", "0.07")], None, Decimal("0.10"))
    assert found.cp is None
    assert found.cp_range is None
    assert found.cpk == pytest.approx(0.04 / 0.03)
    assert any("no Cp" in sentence for sentence in found.conditions)
    assert capability_of(12, 1, 9, Decimal(8), Decimal(11)).cpk < 0
    assert capability_of(6.9, 0.1, 9, Decimal("6.5"), None).cpk == pytest.approx(4 / 3)
    assert capability_of(6.6, 0.1, 9, Decimal("6.5"), Decimal(8)).cpk == pytest.approx(1 / 3)
    for mean, sd, count, low, high, words in [
        (1.0, 0.1, 9, None, None, "there are none"),
        (1.0, 0.1, 9, 2, 1, "not below"),
        (1.0, 0.0, 9, 0, 2, "do not differ"),
        (1.0, 0.1, 1, 0, 2, "shows no spread"),
    ]:
        with pytest.raises(BayError, match=words):
            capability_of(
                mean, sd, count, low if low is None else Decimal(low), high if high is None else Decimal(high)
            )
    with pytest.raises(BayError, match="one reading"):
        capability([Decimal(1)], Decimal(0), None)
    with pytest.raises(BayError, match="confidence"):
        capability_of(1, 1, 9, Decimal(0), None, 1.0)


@given(st.floats(1e-6, 1 - 1e-6), st.integers(1, 400))
def test_chi_squared_is_scipys(probability: float, free: int) -> None:
    assert chi_squared(probability, free) == pytest.approx(scipy.stats.chi2.ppf(probability, free), rel=1e-8, abs=1e-12)


def d2_star(size: int) -> float:
    """Root of the mean square of the range R of `size` standard normal values: Duncan's d2* for one subgroup."""
    x = np.linspace(-7, 7, 1401)
    below, density = scipy.stats.norm.cdf(x), scipy.stats.norm.pdf(x)
    low, high = np.meshgrid(x, x)
    chance = size * (size - 1) * np.clip(below[:, None] - below[None, :], 0, 1) ** (size - 2)
    joint = (high - low) ** 2 * chance * density[:, None] * density[None, :] * (high >= low)
    return math.sqrt(float(scipy.integrate.simpson(scipy.integrate.simpson(joint, x=x), x=x)))


def range_mean(size: int) -> float:
    phi = scipy.stats.norm.cdf
    return float(scipy.integrate.quad(lambda x: 1 - (1 - phi(x)) ** size - phi(x) ** size, -9, 9)[0])


def test_constants_of_the_range_method() -> None:
    """The K factors that AIAG, "Measurement Systems Analysis", 4th edition, prints for its report on gauge
    repeatability and reproducibility (from memory), worked out here from the normal distribution's range."""
    for size, printed in _K1.items():
        assert 1 / range_mean(size) == pytest.approx(printed, abs=6e-5)
    for size, printed in {**_K2, **_K3}.items():
        assert 1 / d2_star(size) == pytest.approx(printed, abs=6e-5)


def cells(*rows: str) -> list[list[list[Decimal]]]:
    """Nine rows, person by person and trial by trial, of one figure for each part."""
    table = [[Decimal(word) for word in row.split()] for row in rows]
    return [[[table[3 * person + trial][part] for trial in range(3)] for part in range(10)] for person in range(3)]


def test_gauge_study_of_a_printed_sheet() -> None:
    """Data collection sheet of AIAG, "Measurement Systems Analysis", 4th edition, chapter III, as training sheets
    reprint it: R 0.3417, XDIFF 0.4447, Rp 3.511
    printed; EV 0.2019, AV 0.2296, GRR 0.3058, PV 1.1046, TV 1.1461, 26.68 %, five categories (from memory)."""
    study = gauge_study(
        cells(
            "0.29 -0.56 1.34 0.47 -0.80 0.02 0.59 -0.31 2.26 -1.36",
            "0.41 -0.68 1.17 0.50 -0.92 -0.11 0.75 -0.20 1.99 -1.25",
            "0.64 -0.58 1.27 0.64 -0.84 -0.21 0.66 -0.17 2.01 -1.31",
            "0.08 -0.47 1.19 0.01 -0.56 -0.20 0.47 -0.63 1.80 -1.68",
            "0.25 -1.22 0.94 1.03 -1.20 0.22 0.55 0.08 2.12 -1.62",
            "0.07 -0.68 1.34 0.20 -1.28 0.06 0.83 -0.34 2.19 -1.50",
            "0.04 -1.38 0.88 0.14 -1.46 -0.29 0.02 -0.46 1.77 -1.49",
            "-0.11 -1.13 1.09 0.20 -1.07 -0.67 0.01 -0.56 1.45 -1.77",
            "-0.15 -0.96 0.67 0.11 -1.45 -0.49 0.21 -0.49 1.87 -2.16",
        )
    )
    assert study.repeatability / _K1[3] == pytest.approx(0.3417, abs=5e-5)
    assert study.parts / _K3[10] == pytest.approx(3.511, abs=5e-4)
    assert study.range_limit == pytest.approx(0.8815, abs=0.002)  # printed with D4 = 2.58
    assert study.suspects == ((2, 4),)  # 0.01 to 1.03
    assert study.repeatability == pytest.approx(0.2019, abs=1e-4)
    assert study.reproducibility == pytest.approx(0.2296, abs=1e-4)
    assert study.gauge == pytest.approx(0.3058, abs=1e-4)
    assert study.parts == pytest.approx(1.1046, abs=1e-4)
    assert study.total == pytest.approx(1.1461, abs=1e-4)
    assert study.percent == pytest.approx(26.68, abs=0.01)
    assert study.categories == 5
    assert study.percent_of_tolerance is None


def test_gauge_study_where_persons_do_not_differ() -> None:
    """A 3 x 3 x 10 sheet of caliper readings, filled in and uploaded to a document site without a title: R 0.00367,
    UCLR 0.00946, Rp 0.47667; the variation between persons drowns, so AV is 0. The number of categories is 1.41 PV/GRR
    (AIAG, from memory); one web form prints the root of it."""
    study = gauge_study(
        cells(
            "9.75 10.15 9.99 10.13 10.18 9.70 10.00 10.03 9.86 9.95",
            "9.75 10.15 9.99 10.13 10.18 9.71 10.00 10.03 9.86 9.95",
            "9.75 10.14 9.99 10.13 10.17 9.70 10.00 10.02 9.85 9.96",
            "9.75 10.15 9.98 10.13 10.18 9.70 10.00 10.03 9.86 9.95",
            "9.75 10.15 9.99 10.13 10.18 9.70 10.00 10.03 9.86 9.95",
            "9.76 10.15 9.99 10.13 10.17 9.70 10.00 10.03 9.86 9.95",
            "9.75 10.15 9.99 10.13 10.18 9.70 10.00 10.03 9.86 9.95",
            "9.75 10.15 9.99 10.13 10.18 9.70 9.99 10.03 9.86 9.95",
            "9.75 10.14 9.99 10.13 10.18 9.70 10.00 10.03 9.86 9.95",
        ),
        Decimal("9.50"),
        Decimal("10.50"),
    )
    assert study.repeatability / _K1[3] == pytest.approx(0.00367, abs=5e-6)
    assert study.range_limit == pytest.approx(0.00946, abs=3e-5)
    assert study.parts / _K3[10] == pytest.approx(0.47667, abs=5e-6)
    assert study.repeatability == pytest.approx(0.002166, abs=1e-6)
    assert study.reproducibility == 0
    assert study.parts == pytest.approx(0.14996, abs=1e-5)
    assert study.percent == pytest.approx(1.44, abs=0.005)
    assert study.categories == int(1.41 * 0.14996 / 0.002166)
    assert study.categories != int(1.41 * math.sqrt(0.14996 / 0.002166))
    assert study.percent_of_tolerance == pytest.approx(100 * 6 * 0.002166, abs=0.001)


def test_gauge_studies_refused() -> None:
    two = [[[Decimal(1), Decimal(2)], [Decimal(3), Decimal(4)]]] * 2
    assert gauge_study(two).reproducibility == 0
    gap = [[[Decimal(1), Decimal(2)], [Decimal(3)]], [[Decimal(1), Decimal(2)], [Decimal(3), Decimal(4)]]]
    same = [[[Decimal(1)] * 2] * 2] * 2
    for study, words in [(two[:1], "not provided for"), ([], "not provided for"), (gap, "gaps"), (same, "the same")]:
        with pytest.raises(BayError, match=words):
            gauge_study(study)
    with pytest.raises(BayError, match="not below"):
        gauge_study(two, Decimal(2), Decimal(1))
