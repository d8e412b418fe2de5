"""Test statistics against other programs' results and published figures."""

from __future__ import annotations

import numpy as np
import pytest

from rwtools.drills.rasch import fit
from rwtools.drills.statistics import (
    alpha,
    corrected_point_biserial,
    kr20,
    mean_interval,
    measurement_error,
    permutation_p,
    wilson,
)

# Ten students, ten items: K. L. Wuensch, "The Kuder-Richardson 20", East Carolina University,
# https://core.ecu.edu/wuenschk/StatHelp/KR20.txt
# (the numbers; total variance 5.84, sum of pq 2.18).
QUIZ = np.array(
    [
        [int(mark) for mark in row]
        for row in (
            "1111110110 1011011101 1111011001 0010001000 0000010010 "
            "1110111111 1101110111 1111111101 0101111101 1101101110"
        ).split()
    ]
)


def simulated(learners: int, items: int, seed: int = 0, missing: float = 0.0):
    generator = np.random.default_rng(seed)
    ability = generator.normal(0, 1.1, learners)
    difficulty = generator.normal(0, 1, items)
    chance = 1 / (1 + np.exp(-(ability[:, None] - difficulty)))
    marks = (generator.random(chance.shape) < chance).astype(float)
    return ability, difficulty, marks, generator.random(chance.shape) >= missing


def test_wilson_agrees_with_statsmodels() -> None:
    from statsmodels.stats.proportion import proportion_confint

    given = np.array([1, 1, 3, 8, 27, 27, 27, 98, 500, 1_000_000])
    right = np.array([0, 1, 2, 5, 0, 19, 27, 44, 499, 123_456])
    for confidence in (0.8, 0.95, 0.99):
        low, high = wilson(right, given, confidence)
        expected = proportion_confint(right, given, alpha=1 - confidence, method="wilson")
        np.testing.assert_allclose(low, expected[0], atol=1e-12)
        np.testing.assert_allclose(high, expected[1], atol=1e-12)


def test_wilson_published_figure() -> None:
    # Newcombe (1998), Statistics in Medicine 17, 857-872, table I: 81 of 263, score method without
    # continuity correction: 0.2553 to 0.3662.
    low, high = wilson([81], [263])
    assert (round(float(low[0]), 4), round(float(high[0]), 4)) == (0.2553, 0.3662)


def test_nothing_given_is_nothing_known() -> None:
    low, high = wilson([0], [0])
    assert (low[0], high[0]) == (0, 1)


def test_kr20_of_a_published_quiz() -> None:
    assert QUIZ.sum(axis=1).tolist() == [8, 7, 7, 2, 2, 9, 8, 9, 7, 7]
    assert QUIZ.sum(axis=1).var() == pytest.approx(5.84)
    share = QUIZ.mean(axis=0)
    assert (share * (1 - share)).sum() == pytest.approx(2.18)
    assert kr20(QUIZ) == pytest.approx(10 / 9 * (1 - 2.18 / 5.84))
    assert alpha(QUIZ) == pytest.approx(kr20(QUIZ))


def test_alpha_agrees_with_pingouin() -> None:
    import pandas as pd
    import pingouin

    marks = simulated(60, 12)[2]
    graded = marks[:, :6] * 2 + marks[:, 6:]
    for table in (QUIZ, marks, graded):
        expected, _ = pingouin.cronbach_alpha(data=pd.DataFrame(table))
        assert alpha(table) == pytest.approx(expected, abs=1e-12)


def test_alpha_of_binary_answers_as_r_psych_gives_it() -> None:
    # pingouin's documentation gives 0.8017 for its binary data set, complete rows only, and says
    # that R's psych::alpha(use = "complete.obs") gives the same.
    import pingouin

    table = pingouin.read_dataset("cronbach_wide_missing").dropna().to_numpy()
    assert alpha(table) == pytest.approx(0.8016949152542373)


def test_corrected_point_biserial_agrees_with_scipy() -> None:
    from scipy.stats import pointbiserialr

    for table in (QUIZ, simulated(80, 20, seed=3)[2]):
        found = corrected_point_biserial(table)
        for item in range(table.shape[1]):
            rest = np.delete(table, item, axis=1).sum(axis=1)
            expected = pointbiserialr(table[:, item], rest).statistic
            assert found[item] == pytest.approx(expected, abs=1e-12)


def test_graded_items_have_the_same_discrimination() -> None:
    """The grouped query of the grader and the plain formula give one figure."""
    from rwtools.drills.explain import from_rationale
    from rwtools.drills.grade import grade
    from rwtools.items.model import Item

    items = [
        Item(id=f"q{n}", skill="data", passage="P.", question="?", choices=["a", "b"], answer="A")
        for n in range(10)
    ]
    records = [
        {"learner": f"s{i}", "item": f"q{j}", "answer": "A" if QUIZ[i, j] else "B"}
        for i in range(10)
        for j in range(10)
    ]
    report = grade(items, records, explain=from_rationale)
    found = [item.discrimination for item in report.items]
    np.testing.assert_allclose(found, corrected_point_biserial(QUIZ), atol=5e-4)
    assert report.measure is not None
    assert report.measure.kr20 == pytest.approx(0.6963, abs=1e-4)
    spread = float(QUIZ.sum(axis=1).std(ddof=1))
    assert report.measure.error == pytest.approx(measurement_error(spread, kr20(QUIZ)))


def test_flat_tables_have_no_reliability() -> None:
    assert np.isnan(kr20(np.ones((10, 4))))
    assert np.isnan(alpha(np.zeros((1, 4))))
    assert np.isnan(corrected_point_biserial(np.ones((5, 3)))).all()


def test_mean_interval_agrees_with_scipy() -> None:
    from scipy.stats import t

    sample = [0.4, 0.55, 0.7, 0.61, 0.3]
    mean, error = np.mean(sample), np.std(sample, ddof=1) / np.sqrt(5)
    assert mean_interval(sample) == pytest.approx(t.interval(0.95, 4, loc=mean, scale=error))
    assert mean_interval([0.5]) is None


def test_permutation_agrees_with_scipy() -> None:
    from scipy.stats import f_oneway, permutation_test

    generator = np.random.default_rng(5)
    groups = [generator.normal(mean, 1, 15) for mean in (0, 0.5, 0.3)]
    expected = permutation_test(
        groups,
        lambda *g: f_oneway(*g).statistic,
        permutation_type="independent",
        alternative="greater",
        n_resamples=2_000,
        rng=1,
    ).pvalue
    labels = np.repeat(["a", "b", "c"], 15)
    assert permutation_p(np.concatenate(groups), labels) == pytest.approx(expected, abs=0.03)


def test_permutation_p_is_even_where_nothing_differs() -> None:
    generator = np.random.default_rng(8)
    labels = np.repeat(["a", "b"], [9, 12])
    found = [permutation_p(generator.normal(size=21), labels, rounds=199) for _ in range(300)]
    assert 0.02 <= np.mean(np.array(found) <= 0.05) <= 0.09
    assert permutation_p([1.0, 2.0], ["a", "a"]) is None


@pytest.mark.parametrize("missing", [0.0, 0.3])
def test_rasch_finds_the_parameters_that_made_the_data(missing: float) -> None:
    """Simulated answers of 600 learners to 40 items: the error is what its own figure says."""
    ability, difficulty, marks, given = simulated(600, 40, seed=11, missing=missing)
    fitted = fit(marks, given)
    moved = fitted.difficulty - fitted.difficulty.mean() - (difficulty - difficulty.mean())
    assert np.corrcoef(fitted.difficulty, difficulty)[0, 1] > 0.985
    assert np.sqrt(np.mean(moved**2)) < 0.14
    assert np.mean(np.abs(moved) < 1.96 * fitted.difficulty_error) > 0.85
    assert np.sqrt(np.mean(moved**2)) == pytest.approx(fitted.difficulty_error.mean(), rel=0.35)
    assert fitted.spread == pytest.approx(ability.std(), abs=0.1)
    assert np.corrcoef(fitted.ability, ability)[0, 1] > (0.93 if missing == 0 else 0.9)
    error = fitted.ability - (ability - ability.mean())
    assert np.sqrt(np.mean(error**2)) == pytest.approx(
        np.sqrt(np.mean(fitted.ability_error**2)), rel=0.2
    )
    assert np.all(np.abs(fitted.infit - 1) < 0.2)


def test_rasch_likelihood_is_at_its_top() -> None:
    """The EM result against SciPy's general optimiser on the marginal likelihood itself."""
    from scipy.optimize import minimize
    from scipy.special import log_expit, logsumexp, roots_hermitenorm

    _, _, marks, given = simulated(150, 12, seed=2)
    nodes, weights = roots_hermitenorm(41)
    log_weights = np.log(weights / weights.sum())

    def loss(parameters):
        odds = np.exp(parameters[-1]) * nodes[:, None] - parameters[None, :-1]
        log = marks @ log_expit(odds).T + (1 - marks) @ log_expit(-odds).T
        return -logsumexp(log + log_weights, axis=1).sum()

    best = minimize(loss, np.zeros(13), method="L-BFGS-B", bounds=[(-6, 6)] * 12 + [(-3, 2)])
    fitted = fit(marks, given)
    np.testing.assert_allclose(fitted.difficulty, best.x[:-1], atol=0.01)
    assert fitted.spread == pytest.approx(np.exp(best.x[-1]), abs=0.01)


def test_misfit_shows() -> None:
    """An item answered at random has an infit above 1, one that follows ability too well below."""
    ability, _, marks, given = simulated(400, 20, seed=4)
    generator = np.random.default_rng(0)
    marks[:, 0] = generator.random(400) < 0.5
    marks[:, 1] = ability > 0
    fitted = fit(marks, given)
    assert fitted.infit[0] > 1.15
    assert fitted.infit[1] < 0.8
    assert np.all((fitted.infit[2:] > 0.8) & (fitted.infit[2:] < 1.2))


def test_perfect_and_empty_scores_have_finite_abilities() -> None:
    _, _, marks, given = simulated(50, 15, seed=6)
    marks[0], marks[1] = 1, 0
    fitted = fit(marks, given)
    assert np.isfinite(fitted.ability).all()
    assert fitted.ability[0] == fitted.ability.max()
    assert fitted.ability[1] == fitted.ability.min()
