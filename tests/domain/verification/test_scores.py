"""Scores against published tables, scipy and pandas."""

from __future__ import annotations

import csv
import math
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from forecaster.domain.verification.calls import Calls, count_calls
from forecaster.domain.verification.chances import (
    brier_score,
    reliability_table,
    wilson_limits,
)
from forecaster.domain.verification.dates import date_errors
from forecaster.domain.verification.errors import error_summary

if TYPE_CHECKING:
    from pathlib import Path

FINLEY = Calls(hits=28, false_goes=72, missed=23, held=2680)


def rows(root: Path, name: str) -> list[dict[str, str]]:
    """A file of check values."""
    path = root / "fixtures" / "check_values" / f"{name}.csv"
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def test_finley_scores(root: Path) -> None:
    """The classic table of 2,803 tornado forecasts."""
    assert FINLEY.compared == 2803
    found = rows(root, "verification_calls")
    for row in found:
        score = getattr(FINLEY, row["inputs"].removeprefix("score="))
        assert score == pytest.approx(
            float(row["expected"]), abs=float(row["tolerance"])
        ), row
    assert len(found) == 5


def test_finley_table_is_counted_from_hours() -> None:
    """2,803 hours of calls, in any order, and two that are not known."""
    table = [(True, True, 28), (True, False, 72), (False, True, 23)]
    table += [(False, False, 2680)]
    called = np.concatenate([np.full(n, each) for each, _, n in table] + [[True] * 2])
    fit = np.concatenate([np.full(n, each) for _, each, n in table] + [[True] * 2])
    known = np.arange(2805) < 2803
    order = np.random.default_rng(1).permutation(2805)
    counted = count_calls(called[order], fit[order], known[order])
    assert counted == Calls(28, 72, 23, 2680, unknown=2)
    assert (counted.called, counted.fit) == (100, 51)
    assert counted.fit_share == pytest.approx(51 / 2803)


def test_calling_everything_or_nothing_has_no_skill() -> None:
    """Peirce's score is 0 for both, and nothing over nothing is not a number."""
    assert Calls(51, 2752, 0, 0).peirce_skill == 0.0
    nothing = Calls(0, 0, 51, 2752)
    assert nothing.peirce_skill == 0.0
    assert math.isnan(nothing.false_go_share)
    assert math.isnan(Calls(0, 0, 0, 0).right_share)


def test_errors_are_those_of_pandas() -> None:
    """Three leads at once, with gaps, against Series means."""
    rng = np.random.default_rng(2)
    observed = rng.normal(5, 2, 500)
    forecast = observed + rng.normal([[0.5], [1.0], [-2.0]], 1.5, (3, 500))
    observed[::7] = np.nan
    forecast[1, ::5] = np.nan
    found = error_summary(forecast, observed)
    for lead in range(3):
        error = pd.Series(forecast[lead] - observed).dropna()
        assert found.count[lead] == len(error)
        assert found.bias[lead] == pytest.approx(error.mean())
        assert found.mae[lead] == pytest.approx(error.abs().mean())
        assert found.rmse[lead] == pytest.approx(math.sqrt(error.pow(2).mean()))
        assert found.spread[lead] == pytest.approx(error.std(ddof=0))


def test_no_pair_has_no_error() -> None:
    """All missing: a count of 0 and no numbers."""
    found = error_summary(np.full(4, np.nan), np.ones(4))
    assert int(found.count) == 0
    assert np.isnan([found.bias, found.mae, found.rmse, found.spread]).all()


def test_wilson_limits_of_newcombe_and_scipy(root: Path) -> None:
    """Four shares of the paper, each asked of scipy too."""
    found = rows(root, "verification_wilson")
    for row in found:
        inputs = dict(part.split("=") for part in row["inputs"].split())
        successes, count = int(inputs["successes"]), int(inputs["count"])
        ours = [float(each) for each in wilson_limits(successes, count)]
        theirs = stats.binomtest(successes, count).proportion_ci(method="wilson")
        assert ours == pytest.approx([theirs.low, theirs.high], abs=1e-12)
        expected = [float(each) for each in row["expected"].split()]
        assert ours == pytest.approx(expected, abs=float(row["tolerance"])), row
    assert len(found) == 4


@given(st.integers(1, 400), st.floats(0, 1), st.floats(0.5, 0.999))
def test_wilson_limits_of_any_share(count: int, share: float, level: float) -> None:
    """Against scipy, at any level."""
    successes = round(count * share)
    z = float(stats.norm.ppf((1 + level) / 2))
    theirs = stats.binomtest(successes, count).proportion_ci(level, method="wilson")
    ours = [float(each) for each in wilson_limits(successes, count, z)]
    assert ours == pytest.approx([theirs.low, theirs.high], abs=1e-9)


def test_no_hours_have_no_limits() -> None:
    """A share of nothing."""
    assert np.isnan(wilson_limits(0, 0)).all()


def test_brier_score_by_hand() -> None:
    """Rain told 0.9, 0.3, 0.5, 0.1; it rained on days 1 and 3.

    Squares 0.01, 0.09, 0.25, 0.01 make 0.36, a quarter of it is 0.09. The climate,
    one half, scores 0.25; skill is 1 − 0.09/0.25 = 0.64. Closed form.
    """
    said = np.array([0.9, 0.3, np.nan, 0.5, 0.1, 0.7])
    came = np.array([1.0, 0.0, 1.0, 1.0, 0.0, np.nan])
    found = brier_score(said, came)
    assert found.count == 4
    assert found.score == pytest.approx(0.09)
    assert found.of_climate == 0.25
    assert found.skill == pytest.approx(0.64)


def test_brier_score_without_pairs_or_change() -> None:
    """Nothing to score; and a climate nothing can beat."""
    nothing = brier_score(np.array([np.nan]), np.array([1.0]))
    assert nothing.count == 0
    assert math.isnan(nothing.score)
    assert math.isnan(brier_score(np.ones(3), np.ones(3)).skill)


@pytest.mark.parametrize(
    ("said", "came", "words"), [(1.1, 1.0, "chance"), (0.5, 0.5, "outcome")]
)
def test_wrong_chances_are_refused(said: float, came: float, words: str) -> None:
    """Percent instead of shares, and halves of an outcome."""
    with pytest.raises(ValueError, match=words):
        brier_score(np.array([said]), np.array([came]))


def test_reliability_table_is_that_of_pandas() -> None:
    """Counts, means and shares against pandas.cut; an empty bin has none."""
    rng = np.random.default_rng(4)
    said = np.round(rng.beta(0.6, 0.8, 2000), 2)
    said[(said >= 0.6) & (said < 0.7)] = 0.55
    came = (rng.random(2000) < said**1.5).astype(float)
    came[::50] = np.nan
    found = reliability_table(said, came)
    frame = pd.DataFrame({"said": said, "came": came}).dropna()
    bins = pd.cut(frame["said"].clip(upper=0.999), found.edges.tolist(), right=False)
    grouped = frame.groupby(bins, observed=False)
    assert found.count.tolist() == grouped.size().tolist()
    assert found.count[6] == 0
    for ours, column in ((found.said, "said"), (found.share, "came")):
        np.testing.assert_allclose(ours, grouped[column].mean().to_numpy())
    low, high = wilson_limits(grouped["came"].sum(), grouped.size())
    np.testing.assert_allclose(found.low, low)
    np.testing.assert_allclose(found.high, high)
    assert np.isnan(found.low[6])


def test_an_edge_belongs_to_the_bin_above() -> None:
    """0.1 to the second bin, 1 to the last."""
    said = np.array([0.0, 0.1, 0.3, 0.7, 1.0])
    count = reliability_table(said, np.ones(5)).count
    assert count.tolist() == [1, 1, 0, 1, 0, 0, 0, 1, 0, 1]


@given(
    st.lists(
        st.tuples(st.sampled_from([0.05, 0.25, 0.55, 0.95]), st.booleans()),
        min_size=1,
        max_size=60,
    )
)
def test_murphy_parts_make_the_brier_score(pairs: list[tuple[float, bool]]) -> None:
    """Reliability less resolution plus uncertainty, where bins hold one chance each.

    Murphy (1973), J. Appl. Meteorol. 12, 595-600; an identity.
    """
    said = np.array([each for each, _ in pairs])
    came = np.array([float(each) for _, each in pairs])
    table, brier = reliability_table(said, came), brier_score(said, came)
    parts = table.reliability - table.resolution + table.uncertainty
    assert parts == pytest.approx(brier.score, abs=1e-12)
    assert table.uncertainty == pytest.approx(brier.of_climate, abs=1e-12)


def test_an_empty_table_has_no_parts() -> None:
    """No hours."""
    table = reliability_table(np.array([]), np.array([]))
    assert table.count.sum() == 0
    assert math.isnan(table.climate)


@pytest.mark.parametrize("edges", [[0.0, 0.5], [0.1, 1.0], [0.0, 0.6, 0.6, 1.0]])
def test_wrong_bins_are_refused(edges: list[float]) -> None:
    """They must rise from 0 to 1."""
    with pytest.raises(ValueError, match="rise"):
        reliability_table(np.array([0.5]), np.array([1.0]), np.array(edges))


def test_date_errors_are_those_of_pandas() -> None:
    """Bias, size and cover in steps of lead against a pandas groupby."""
    rng = np.random.default_rng(5)
    lead = rng.uniform(0, 60, 400)
    happened = rng.normal(270, 5, 400)
    projected = happened + rng.normal(1, 1 + lead / 10)
    half = 1.2816 * (1 + lead / 10)
    projected[::9] = np.nan
    edges = np.array([0.0, 15.0, 30.0, 60.0])
    between = (projected - half, projected + half)
    found = date_errors(projected, happened, lead, edges, between=between)
    frame = pd.DataFrame({"error": projected - happened, "lead": lead, "half": half})
    frame = frame.dropna()
    frame["covered"] = frame["error"].abs() <= frame["half"]
    step = pd.cut(frame["lead"], edges.tolist(), right=False)
    grouped = frame.groupby(step, observed=False)
    np.testing.assert_allclose(found.errors.bias, grouped["error"].mean())
    np.testing.assert_allclose(found.covered, grouped["covered"].mean())
    assert found.errors.count.tolist() == grouped.size().tolist()
    spread = grouped["error"].std(ddof=0)
    np.testing.assert_allclose(found.errors.spread, spread)


def test_dates_without_a_range_or_a_step() -> None:
    """No cover is told; an empty step has no numbers; bad steps are refused."""
    two = np.array([1.0, 2.0])
    found = date_errors(two, two, two, np.array([0.0, 5.0, 9.0]))
    assert np.isnan(found.covered).all()
    empty = date_errors(two, two, two, np.array([5.0, 9.0]), between=(two, two))
    assert np.isnan(empty.covered).all()
    assert np.isnan(empty.errors.mae).all()
    for edges in ([5.0], [5.0, 5.0]):
        with pytest.raises(ValueError, match="two or more"):
            date_errors(two, two, two, np.array(edges))
