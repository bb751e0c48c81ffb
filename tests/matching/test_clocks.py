"""Clock measuring against scipy and against clocks that are known."""

import numpy as np
import pytest
from scipy.optimize import least_squares
from scipy.stats import t as student

from episode.matching.clocks import _student, measure, unknown_clock
from episode.matching.voting import log_prior, modes


def lags(offset, drift_ppm=0.0, n=40, jitter=10.0, hours=5.0, wrong=0, seed=1):
    dice = np.random.default_rng(seed)
    camera = np.sort(dice.uniform(0, hours * 3600, n)) + 1e9
    logged = camera + offset + drift_ppm * 1e-6 * (camera - 1e9) + dice.normal(0, jitter, n)
    logged[dice.choice(n, wrong, replace=False)] += dice.uniform(-3000, 3000, wrong)
    return camera, logged


def measured(camera, logged):
    return measure(unknown_clock("cam", None, 1e9, ""), camera, logged, [1.0] * len(camera)).clock


def test_student_points_agree_with_scipy():
    for freedom in (1, 2, 3, 5, 10, 15, 30, 60):
        assert _student(freedom) == pytest.approx(student.ppf(0.975, freedom), rel=0.01)


def test_robust_offset_agrees_with_scipys_huber_loss():
    camera, logged = lags(3600.0, wrong=8)
    fit = least_squares(lambda x: logged - camera - x, x0=[3600.0], loss="huber", f_scale=13.0)
    clock = measured(camera, logged)
    assert clock.offset_s == pytest.approx(fit.x[0], abs=1.0)


def test_intervals_hold_about_as_often_as_they_say():
    clocks = [measured(*lags(100.0, n=12, hours=3.0, wrong=1, seed=seed)) for seed in range(80)]
    assert sum(abs(clock.offset_s - 100.0) <= clock.error_s for clock in clocks) >= 72


def test_drift_is_told_only_where_the_day_can_tell():
    strong = measured(*lags(-20.0, drift_ppm=1200.0, jitter=5.0))
    assert strong.drift_ppm == pytest.approx(1200, abs=250)
    assert strong.offset_s == pytest.approx(-20, abs=8)
    weak = measured(*lags(-20.0, drift_ppm=30.0))
    assert weak.drift_ppm == 0.0
    assert "too small to tell" in weak.basis
    short = measured(*lags(-20.0, n=5, hours=1.0))
    assert short.drift_ppm == 0.0
    assert "not measurable" in short.basis


def test_one_pair_claims_no_certainty():
    assert measured(*lags(5.0, n=1)).error_s > 30


@pytest.mark.parametrize("offset", [0.0, 42.0, -3580.0, 3600.0, 86400.0, -47000.0])
def test_vote_finds_the_offset_among_wrong_pairs(offset):
    dice = np.random.default_rng(7)
    camera = np.sort(dice.uniform(0, 14400, 30))
    logged = camera + offset + dice.normal(0, 10, 30)
    kinds = dice.integers(0, 8, 30)
    evidence = np.where(kinds[:, None] == kinds[None, :], 2.0, -2.3)
    best = modes(camera, logged, evidence, span=14400.0)[0]
    assert best.offset == pytest.approx(offset, abs=12)


def test_prior_favours_none_then_hours_then_days_then_anything():
    order = [log_prior(offset) for offset in (0.0, 3600.0, 86400.0, 50000.0, 4e8)]
    assert order == sorted(order, reverse=True)


def test_without_times_the_prior_decides():
    best = modes(np.array([1.0]), np.array([np.nan]), np.zeros((1, 1)), span=3600.0)
    assert best[0].offset == 0.0
