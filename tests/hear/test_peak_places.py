import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from reedpath.hear.peaks import peak_places, prominent_peaks


def science_library(values, **options):
    """Where scipy finds peaks; imported here, since it takes a second to."""
    from scipy.signal import find_peaks

    return find_peaks(values, **options)[0].tolist()


ROWS = st.lists(st.integers(0, 6), max_size=40)


@given(ROWS, st.integers(0, 6))
def test_the_science_library_finds_the_same_sharp_peaks(row, height):
    values = np.array(row) + 1e-6 * np.arange(len(row))  # no level tops
    assert peak_places(values, height=height).tolist() == science_library(values, height=height)


@given(ROWS, st.integers(1, 10))
def test_neighbours_are_driven_out_as_the_science_library_does(row, distance):
    values = np.array(row) + 1e-6 * np.arange(len(row))
    assert peak_places(values, distance=distance).tolist() == science_library(values, distance=distance)


@given(ROWS)
def test_a_level_top_counts_once(row):
    values = np.array(row, dtype=float)
    assert len(peak_places(values)) == len(science_library(values))


@given(ROWS, st.sampled_from([0.5, 1.0, 2.0, 4.0]))
def test_prominent_peaks_are_those_of_a_science_library(values, prominence):
    from scipy.signal import find_peaks

    row = np.array(values, dtype=np.float64)
    places, found = find_peaks(row, prominence=prominence)
    own, over = prominent_peaks(row, prominence=prominence)
    assert own.tolist() == places.tolist()
    assert over.tolist() == found["prominences"].tolist()
