"""Words and codes of the field, read into the classes of the model."""

from __future__ import annotations

import pytest

from forecaster.domain.growth.stage import Stage
from forecaster.settings.stage_words import (
    CLASSES,
    TRADE_WORDS,
    class_of,
    classes_of,
    remark_on,
    spoken,
)

BBCH_CEREALS = {
    # Lancashire et al. 1991, Annals of Applied Biology 119:561–601: principal stages
    # of cereals (from memory). 41–49 are booting, 51–59 heading, 61–69 flowering,
    # 71–77 from watery to late milk, 83–89 from early dough to fully ripe, 92 over-
    # ripe.
    0: None, 21: None, 41: None, 49: None, 51: None,
    55: Stage.HEADING, 59: Stage.HEADING, 61: Stage.HEADING,
    65: Stage.FLOWERING, 69: Stage.FLOWERING,
    71: Stage.WATERY, 73: Stage.WATERY,
    75: Stage.MILK, 77: Stage.LATE_MILK, 83: Stage.LATE_MILK,
    85: Stage.SOFT_DOUGH, 87: Stage.HARD_DOUGH, 89: Stage.HARD_DOUGH,
    92: Stage.HARD_DOUGH, 99: Stage.HARD_DOUGH,
}  # fmt: skip


@pytest.mark.parametrize("code", BBCH_CEREALS)
def test_a_code_counts_to_the_last_stage_it_has_reached(code: int) -> None:
    """BBCH codes, with and without the word before them."""
    assert class_of(str(code)) == BBCH_CEREALS[code]
    assert class_of(f"BBCH {code}") == BBCH_CEREALS[code]


@pytest.mark.parametrize(
    ("word", "stage"),
    [
        ("Late  Milk", Stage.LATE_MILK),
        ("late-milk", Stage.LATE_MILK),
        ("LATE_MILK", Stage.LATE_MILK),
        (" not out ", None),
        ("Boot", None),
        ("vegetative", None),
        # Common practice, no source.
        ("peeping", Stage.HEADING),
        ("dough", Stage.SOFT_DOUGH),
        ("ripe", Stage.HARD_DOUGH),
    ],
)
def test_words_in_any_spelling(word: str, stage: Stage | None) -> None:
    """Case, spaces, hyphens and underscores do not matter; trade words are known."""
    assert class_of(word) == stage


@pytest.mark.parametrize("word", ["", "100", "5.5", "-1", "bbch", "६५", "head" * 500])
def test_what_is_no_stage(word: str) -> None:
    """One message with the whole list; digits of other scripts are no code."""
    with pytest.raises(ValueError, match="is no stage") as caught:
        class_of(word)
    for name in (*CLASSES, *TRADE_WORDS):
        assert spoken(name) in str(caught.value)
    assert len(str(caught.value)) < 400


def test_a_near_word_is_offered() -> None:
    """A slip of the finger finds its word."""
    with pytest.raises(ValueError, match="did you mean flowering"):
        class_of("flowring")


def test_words_of_one_class_add_up_in_the_order_of_the_head() -> None:
    """59 and 55 are both heading; a 0 is kept, for it was looked for."""
    found = classes_of([("milk", 0), ("59", 3), ("boot", 2), ("55", 4)])
    assert found == ((None, 2), (Stage.HEADING, 7), (Stage.MILK, 0))


def test_only_not_out_means_that_none_is_out() -> None:
    """Whoever counts none out has told heading apart."""
    assert classes_of([("not out", 30)]) == ((None, 30), (Stage.HEADING, 0))


def test_a_word_read_as_another_is_said() -> None:
    """Assumed words and codes between stages; nothing of exact ones."""
    assert "(assumed)" in str(remark_on("peeping"))
    assert "(assumed)" in str(remark_on("dough"))
    assert "61 is counted to heading" in str(remark_on("61"))
    assert [remark_on(word) for word in ("65", "heading", "30", "ripe")] == [None] * 4
