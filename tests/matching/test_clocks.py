"""Clock measuring against scipy and against clocks that are known."""

import numpy as np
import pytest
from scipy.optimize import least_squares
from scipy.stats import t as student

from episode.matching.clocks import Link, Sight, _student, measure, unknown_clock
from episode.matching.slips import log_prior
from episode.matching.voting import Votes


def lags(offset, drift_ppm=0.0, n=40, jitter=10.0, hours=5.0, wrong=0, seed=1):
    dice = np.random.default_rng(seed)
    camera = np.sort(dice.uniform(0, hours * 3600, n)) + 1e9
    logged = camera + offset + drift_ppm * 1e-6 * (camera - 1e9) + dice.normal(0, jitter, n)
    logged[dice.choice(n, wrong, replace=False)] += dice.uniform(-3000, 3000, wrong)
    return camera, logged


def measured(camera, logged):
    return measure([unknown_clock("cam", None, 1e9, "")], sights(0, camera, logged))[0].clock


def sights(clock, camera, logged):
    return [Sight(clock, float(a), float(b)) for a, b in zip(camera, logged, strict=True)]


def test_student_points_agree_with_scipy():
    for freedom in (1, 2, 3, 5, 10, 15, 30, 60):
        assert _student(freedom) == pytest.approx(student.ppf(0.975, freedom), rel=0.01)


def test_robust_offset_agrees_with_scipys_huber_loss():
    camera, logged = lags(3600.0, wrong=3)
    fit = least_squares(lambda x: logged - camera - x, x0=[3600.0], loss="huber", f_scale=13.0)
    timing = measure([unknown_clock("cam", None, 1e9, "")], sights(0, camera, logged))[0]
    middle = float(np.mean(camera))
    assert timing.on_log(middle) - middle == pytest.approx(fit.x[0], abs=1.5)


def test_intervals_hold_about_as_often_as_they_say():
    clocks = [measured(*lags(100.0, n=12, hours=3.0, wrong=1, seed=seed)) for seed in range(80)]
    assert sum(abs(clock.offset_s - 100.0) <= clock.error_s for clock in clocks) >= 72


def test_drift_is_bounded_by_what_cameras_do_unless_a_broken_one_shows():
    broken = measured(*lags(-20.0, drift_ppm=1200.0, jitter=5.0))
    assert broken.drift_ppm == pytest.approx(1200, abs=250)
    assert broken.offset_s == pytest.approx(-20, abs=8)
    assert "more than a sound clock's" in broken.basis
    sound = measured(*lags(-20.0, drift_ppm=30.0))
    assert abs(sound.drift_ppm) < 70
    assert 50 < sound.drift_error_ppm < 69
    short = measured(*lags(-20.0, n=5, hours=1.0))
    assert abs(short.drift_ppm) < 10
    assert short.drift_error_ppm == pytest.approx(1.96 * 35, abs=1)


def test_the_joint_solution_agrees_with_numpys_least_squares_under_the_same_priors():
    """Without outliers and with every weight one, Huber's estimate is the posterior mean: solved here as stacked rows."""
    camera = np.linspace(0.0, 20000.0, 12) + 1e9
    logged = camera + 50.0 + np.tile([6.0, -6.0], 6)
    link = Link(0, 1, 1e9 + 5000.0, 1e9 + 5300.0, 0.01, 12.0, 2.0)
    a, b = measure([unknown_clock(n, None, 1e9, "") for n in "ab"], sights(0, camera, logged), [link])
    spread = 6.0 * (12 / 11 / 0.9205) ** 0.5
    spread = ((2 * 20.0**2 + 12 * spread**2) / 14) ** 0.5
    rows = [[1 / spread, (t - 1e9) * 1e-6 / spread, 0, 0] for t in camera]
    aims = [(y - t) / spread for t, y in zip(camera, logged, strict=True)]
    rows += [[0, 1 / 35, 0, 0], [0, 0, 0, 1 / 35], [100, 0.5, -100, -0.53], [0, 0.5, 0, -0.5]]
    aims += [0, 0, 30000.0, 6.0]
    expected = np.linalg.lstsq(np.array(rows), np.array(aims), rcond=None)[0]
    assert [a.clock.offset_s, a.clock.drift_ppm] == pytest.approx(expected[:2], abs=0.1)
    assert [b.clock.offset_s, b.clock.drift_ppm] == pytest.approx(expected[2:], abs=0.1)
    assert b.clock.pairs == 0 and b.clock.error_s == pytest.approx(a.clock.error_s, rel=0.3)


def test_one_pair_claims_no_certainty():
    assert measured(*lags(5.0, n=1)).error_s > 30


@pytest.mark.parametrize("offset", [0.0, 42.0, -3580.0, 3600.0, 86400.0, -47000.0])
def test_vote_finds_the_offset_among_wrong_pairs(offset):
    dice = np.random.default_rng(7)
    camera = np.sort(dice.uniform(0, 14400, 30))
    logged = camera + offset + dice.normal(0, 10, 30)
    kinds = dice.integers(0, 8, 30)
    evidence = np.where(kinds[:, None] == kinds[None, :], 2.0, -2.3)
    best = Votes(camera, logged, evidence, span=14400.0).modes()[0]
    assert best.offset == pytest.approx(offset, abs=12)


def test_prior_favours_none_then_hours_then_days_then_anything():
    order = [log_prior(offset) for offset in (0.0, 3600.0, 86400.0, 50000.0, 4e8)]
    assert order == sorted(order, reverse=True)


def test_without_times_the_prior_decides():
    best = Votes(np.array([1.0]), np.array([np.nan]), np.zeros((1, 1)), span=3600.0).modes()
    assert best[0].offset == 0.0
