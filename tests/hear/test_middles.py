"""Medians and quantiles of few values are numpy's own to the last digit."""

from __future__ import annotations

import numpy as np
import pytest

from reedpath.hear.middles import middle_of, quantiles_of


@pytest.mark.parametrize("count", range(1, 40))
def test_medians_and_quantiles_are_those_of_numpy(count):
    rng = np.random.default_rng(count)
    for values in (rng.normal(60.0, 3.0, count), rng.integers(0, 4, count).astype(np.float64)):
        assert middle_of(values) == np.median(values)
        assert middle_of(values.astype(np.float32)) == np.median(values.astype(np.float32))
        assert quantiles_of(values, (0.05, 0.1, 0.5, 0.9, 1.0)) == tuple(np.percentile(values, (5, 10, 50, 90, 100)))


def test_the_median_of_what_holds_no_number_is_none():
    assert np.isnan(middle_of(np.array([1.0, np.nan, 2.0])))
