"""Half of the rate: against SciPy's own resampling, and however the sound was cut into pieces."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from scipy.signal import resample_poly

from episode.cutting.samples import halved


def half(*parts):
    return np.concatenate([np.zeros(0, np.float32), *halved(iter(parts))])


def test_it_is_what_another_library_makes_of_it():
    rng = np.random.default_rng(3)
    speech_band = np.convolve(rng.standard_normal(48_000), np.hanning(9) / np.hanning(9).sum(), "same").astype("f4")
    ours, theirs = half(speech_band), resample_poly(speech_band, 1, 2, window=("kaiser", 7.0))
    assert len(ours) == len(theirs) == 24_000
    left_over = np.std((ours - theirs)[100:-100]) / np.std(theirs)
    assert left_over < 0.05  # their band ends elsewhere
    shifted = [np.dot(ours[200:-200], theirs[200 + k : len(theirs) - 200 + k]) for k in (-1, 0, 1)]
    assert np.argmax(shifted) == 1


@given(st.lists(st.integers(0, 300), max_size=8), st.integers(0, 2**32 - 1))
def test_pieces_make_no_difference(lengths, seed):
    rng = np.random.default_rng(seed)
    parts = [rng.standard_normal(n).astype(np.float32) for n in lengths]
    whole = np.concatenate([np.zeros(0, np.float32), *parts])
    assert np.array_equal(half(*parts), half(whole))
    assert len(half(whole)) == (len(whole) + 1) // 2
