"""Looks: shares past each stage and their limits, and the log's own shape."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from forecaster.domain.growth.count_shares import shares_past, widest
from forecaster.domain.growth.look import Look, LookClass
from forecaster.domain.growth.look_log import LookEntry, LookLog
from forecaster.domain.growth.stage import Stage
from forecaster.domain.withdrawal import Withdrawal

MOMENT = np.datetime64("2026-10-11T01:00", "s")


def look(*counts: tuple[LookClass, int], id_: str = "a") -> Look:
    """A look with these counts."""
    return Look(id_, "Creek Flat", "silver_grass", MOMENT, counts)


@pytest.mark.parametrize(
    ("past", "heads", "low", "high"),
    # Per cent. Wilson 1927, JASA 22:209–212; worked out by SciPy below.
    [(6, 20, 15, 52), (30, 100, 22, 40), (38, 50, 63, 86), (75, 100, 66, 82),
     (150, 200, 69, 80), (0, 30, 0, 11), (30, 30, 89, 100)],
)  # fmt: skip
def test_limits_of_a_share_of_heads(past: int, heads: int, low: int, high: int) -> None:
    """A count's limits are those of SciPy's binomial test, Wilson's method."""
    (found,) = shares_past(look((None, heads - past), (Stage.HEADING, past)))
    theirs = stats.binomtest(past, heads).proportion_ci(method="wilson")
    assert (found.past, found.heads, found.share) == (past, heads, past / heads)
    assert [found.low, found.high] == pytest.approx([theirs.low, theirs.high])
    assert [round(100 * theirs.low), round(100 * theirs.high)] == [low, high]


def test_fifty_heads_cannot_tell_70_from_85_per_cent() -> None:
    """Both lie inside the limits of 38 of 50 (SciPy, above); of 150 of 200 not."""
    (fifty,) = shares_past(look((None, 12), (Stage.HEADING, 38)))
    (many,) = shares_past(look((None, 50), (Stage.HEADING, 150)))
    assert fifty.low < 0.70
    assert fifty.high > 0.85
    assert many.high < 0.85


def test_each_boundary_has_its_share() -> None:
    """Heads past a stage are past those before it too."""
    shares = shares_past(
        look((None, 10), (Stage.HEADING, 0), (Stage.MILK, 25), (Stage.HARD_DOUGH, 5))
    )
    assert [(each.stage, each.past) for each in shares] == [
        (Stage.HEADING, 30), (Stage.MILK, 30), (Stage.HARD_DOUGH, 5),
    ]  # fmt: skip
    assert shares[0].heads == 40
    assert widest(shares) == shares[0]


def test_a_first_stage_has_nothing_before_it() -> None:
    """Without *not out*, all heads are past the first stage named."""
    (found,) = shares_past(look((Stage.MILK, 12)))
    assert (found.stage, found.past) == (Stage.MILK, 12)


def test_no_heads_no_share() -> None:
    """Nothing counted, nothing known; and so where nothing was told apart."""
    assert shares_past(look((Stage.HEADING, 0))) == ()
    assert widest(shares_past(look((None, 5)))) is None


def test_a_withdrawn_look_stays_in_the_log() -> None:
    """It is found by its id and does not stand."""
    gone = Withdrawal("b", "J", "wrong grass", MOMENT)
    entries = (
        LookEntry(look((None, 1), id_="a"), (("not out", 1),), MOMENT),
        LookEntry(look((None, 2), id_="b"), (("not out", 2),), MOMENT, gone),
    )
    log = LookLog(entries)
    assert log.standing == entries[:1]
    assert log.entry("b") == entries[1]
    assert log.entry("c") is None
