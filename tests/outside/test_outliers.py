"""The outlier test against its published critical values and scipy's quantiles."""

import math

import pytest
from scipy import stats

from kb.bands.bands import _critical, keep
from kb.settings import Settings

# NIST/SEMATECH e-Handbook 1.3.5.17.3, generalised ESD test, 54 readings, level 0.05 (from memory)
HANDBOOK = {1: 3.158, 2: 3.151, 3: 3.143, 4: 3.136, 5: 3.128, 6: 3.120, 7: 3.111, 8: 3.103}


@pytest.mark.parametrize(("step", "value"), HANDBOOK.items())
def test_handbook_critical_values(step: int, value: float) -> None:
    assert _critical(54, step, 0.05) == pytest.approx(value, abs=1.1e-3)


@pytest.mark.parametrize("count", [5, 9, 40, 300])
def test_critical_values_from_scipy(count: int) -> None:
    # Rosner 1983: lambda_i of n readings, from Student's t
    for step in range(1, math.ceil(count / 5) + 1):
        t = stats.t.ppf(1 - 0.05 / (2 * (count - step + 1)), count - step - 1)
        expected = (count - step) * t / math.sqrt((count - step - 1 + t * t) * (count - step + 1))
        assert _critical(count, step, 0.05) == pytest.approx(expected, rel=1e-7)


def test_two_outliers_cannot_hide_one_another() -> None:
    # what the generalised test is for: Grubbs' test for one would find neither of these
    clean = [float(value) for value in stats.norm.ppf([(i + 0.5) / 20 for i in range(20)])]
    assert keep(clean, Settings().readings).set_aside == 0
    assert keep([*clean, 9.0, 9.3], Settings().readings).set_aside == 2
