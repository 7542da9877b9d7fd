"""Every row of the decision table: it fires when it should, and not when it should not.

What each row says is the trade's or a paper's; config/choice.toml and
docs/method/choice.md name the source of each. Facts are invented.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import pytest

from forecaster.domain.choice.decide import decide
from forecaster.domain.choice.facts import (
    ActiveHere,
    Clover,
    CloverStage,
    Facts,
    Heads,
    Resists,
    Sward,
    WeedHere,
)
from forecaster.domain.choice.rows import Answer, Kind, Table
from forecaster.domain.planning.windows import Status
from forecaster.settings.choice import load_choice
from forecaster.settings.shipped import config_folder

if TYPE_CHECKING:
    from collections.abc import Callable

TABLE: Table = load_choice(config_folder() / "choice.toml")

IN_LEAF = Heads(0.9, 0.1, 0.0, 0.0, 0.0)
PEEPING = Heads(0.25, 0.75, 0.0, 0.0, 0.0)
FLOWER = Heads(0.05, 0.9, 0.05, 0.0, 0.0)
MILK = Heads(0.0, 0.1, 0.8, 0.1, 0.0)
DOUGH = Heads(0.0, 0.0, 0.6, 0.4, 0.0)
RIPE = Heads(0.0, 0.0, 0.0, 0.03, 0.97)


def glyphosate(**changes: Any) -> ActiveHere:
    """The translocated active, with nothing against it."""
    base = ActiveHere(
        id="glyphosate", mode="translocated", controls=True, label=True, on_label=True,
        resists=Resists.CLEAR, springs=0, status=Status.OPEN, block=(0.8, 0.9),
    )  # fmt: skip
    return replace(base, **changes)


def paraquat(**changes: Any) -> ActiveHere:
    """The contact active, with nothing against it."""
    return replace(glyphosate(id="paraquat", mode="contact"), **changes)


def weed(name: str = "silver_grass", heads: Heads | None = PEEPING) -> WeedHere:
    """A weed with half its heads out yesterday."""
    return WeedHere(name, name.replace("_", " "), heads, -1.0)


SWARD = Sward(
    clover=Clover.NONE, clover_thin=False, perennials=False, perennials_per_m2=10.0,
    age_months=float("inf"), to_be_sown=False,
)  # fmt: skip
WANTED = replace(SWARD, clover=Clover.WANTED, clover_stage=CloverStage.FLOWERING)
BASE = Facts(
    hectares=40.0,
    target="silver_grass",
    weeds=(weed(),),
    actives=(glyphosate(), paraquat()),
    sward=SWARD,
    uneven=False,
    toxicity=False,
    feed_short=False,
    priority_stock=False,
    sheep=False,
    long_lived=False,
)
"""Silver grass peeping in a paddock with every fact known and none against it."""


def at(heads: Heads | None, facts: Facts = BASE, **changes: Any) -> Facts:
    """The same with the target's heads elsewhere."""
    return replace(facts, weeds=(weed(facts.target, heads),), **changes)


def only(*actives: ActiveHere, facts: Facts = BASE) -> Facts:
    """The same with these actives."""
    return replace(facts, actives=actives)


CAPEWEED = replace(BASE, target="capeweed", weeds=(weed("capeweed", FLOWER),))


@dataclass(frozen=True)
class Case:
    """A row, facts under which it holds, and the nearest under which it does not."""

    row: str
    answer: Answer
    active: str | None
    yes: Facts
    no: Facts


WINS = [
    Case(
        "0", Answer.NO_GO, "glyphosate",
        only(glyphosate(label=False), paraquat(on_label=False)), BASE,
    ),
    Case("1", Answer.LEAVE, None, at(RIPE), at(DOUGH)),
    Case(
        "1b", Answer.LEAVE, None,
        only(glyphosate(status=Status.CLOSED), paraquat(status=Status.CLOSED)),
        only(glyphosate(status=Status.CLOSED), paraquat()),
    ),
    Case("2", Answer.LEAVE, None, at(IN_LEAF), at(PEEPING)),
    Case("3", Answer.SPRAY, "glyphosate", at(IN_LEAF, toxicity=True), at(IN_LEAF)),
    Case(
        "3b", Answer.WAIT, "glyphosate",
        at(IN_LEAF, only(glyphosate(status=Status.NOT_OPEN)), toxicity=True),
        at(IN_LEAF, only(glyphosate()), toxicity=True),
    ),
    Case(
        "4", Answer.LEAVE, "glyphosate",
        only(glyphosate(resists=Resists.CONFIRMED)),
        only(glyphosate(resists=Resists.SUSPECTED)),
    ),
    Case(
        "5b", Answer.LEAVE, "glyphosate",
        only(glyphosate(resists=None, springs=2)),
        only(glyphosate(resists=Resists.CLEAR, springs=2)),
    ),
    Case(
        "6", Answer.LEAVE, None,
        replace(BASE, feed_short=True, priority_stock=True),
        replace(BASE, feed_short=True),
    ),
    Case(
        "7", Answer.LEAVE, None,
        replace(BASE, sward=replace(SWARD, perennials_per_m2=4.0)),
        replace(BASE, sward=replace(SWARD, perennials_per_m2=5.0)),
    ),
    Case("8", Answer.SPRAY, "glyphosate", CAPEWEED, BASE),
    Case(
        "8b", Answer.WAIT, "glyphosate",
        only(glyphosate(status=Status.OPENING_SOON), facts=CAPEWEED), CAPEWEED,
    ),
    Case(
        "8c", Answer.LEAVE, "paraquat",
        only(paraquat(), facts=CAPEWEED), only(paraquat(), facts=at(FLOWER)),
    ),
    Case("10", Answer.SPRAY, "glyphosate", BASE, replace(BASE, sward=WANTED)),
    Case(
        "11", Answer.WAIT, "paraquat",
        only(glyphosate(), paraquat(status=Status.OPENING_SOON),
             facts=replace(BASE, sward=WANTED)),
        only(glyphosate(), paraquat(status=Status.OPENING_SOON)),
    ),
    Case("11b", Answer.SPRAY, "paraquat", replace(BASE, sward=WANTED), BASE),
    Case(
        "11c", Answer.SPRAY, "glyphosate",
        only(glyphosate(), facts=replace(
            BASE, sward=replace(WANTED, loss_accepted=True))),
        only(glyphosate(), facts=replace(BASE, sward=WANTED)),
    ),
    Case(
        "11d", Answer.ASK, "glyphosate",
        only(glyphosate(), facts=replace(BASE, sward=WANTED)),
        only(glyphosate(), facts=replace(
            BASE, sward=replace(WANTED, clover_stage=CloverStage.PAST))),
    ),
    Case("12", Answer.SPRAY, "paraquat", at(MILK), at(DOUGH)),
    Case(
        "12b", Answer.WAIT, "paraquat",
        only(paraquat(status=Status.OPENING_SOON)), only(paraquat()),
    ),
    Case(
        "13", Answer.SPRAY, "glyphosate",
        at(MILK, only(glyphosate()), accepts_late=True), at(MILK, only(glyphosate())),
    ),
    Case(
        "13b", Answer.ASK, "glyphosate", at(MILK, only(glyphosate())), at(MILK),
    ),
    Case("14", Answer.SPRAY, "paraquat", at(DOUGH), at(MILK)),
    Case("15", Answer.LEAVE, None, replace(BASE, uneven=True), BASE),
    Case(
        "17", Answer.LEAVE, None,
        replace(BASE, sward=replace(SWARD, perennials=True, age_months=11.0)),
        replace(BASE, sward=replace(SWARD, perennials=True, age_months=12.0)),
    ),
]  # fmt: skip


@pytest.mark.parametrize("case", WINS, ids=lambda case: str(case.row))
def test_a_row_wins_when_its_conditions_hold_and_not_else(case: Case) -> None:
    """The answer and the active of the row; the nearest other facts give another."""
    found = decide(TABLE, case.yes)
    assert found.fired is not None
    assert (found.fired.row.id, found.answer) == (case.row, case.answer)
    assert found.fired.active == case.active
    other = decide(TABLE, case.no)
    assert other.fired is None or other.fired.row.id != case.row


APART = (weed(), WeedHere("barley_grass", "barley grass", MILK, -8.0))
ADDED = [
    (
        "5",
        only(glyphosate(resists=Resists.SUSPECTED)),
        only(glyphosate()),
    ),
    (
        "9",
        replace(BASE, weeds=APART),
        replace(BASE, weeds=(weed(), replace(APART[1], half_headed=-7.9))),
    ),
    ("16", replace(BASE, sward=replace(SWARD, perennials=True)), BASE),
    (
        "18",
        only(glyphosate(springs=1), facts=replace(BASE, long_lived=True)),
        only(glyphosate(springs=0), facts=replace(BASE, long_lived=True)),
    ),
    (
        "19",
        replace(BASE, hectares=19.9, sheep=True),
        replace(BASE, hectares=20.0, sheep=True),
    ),
    (
        "20",
        only(glyphosate(block=(0.1, 0.29))),
        only(glyphosate(block=(0.3, 1.0))),
    ),
]


@pytest.mark.parametrize(("row", "yes", "no"), ADDED, ids=lambda each: str(each)[:3])
def test_an_addition_goes_with_the_answer(row: str, yes: Facts, no: Facts) -> None:
    """It is there when its conditions hold, and changes no answer."""
    with_it, without = decide(TABLE, yes), decide(TABLE, no)
    assert row in {each.row.id for each in with_it.added}
    assert row not in {each.row.id for each in without.added}
    assert with_it.answer is without.answer is Answer.SPRAY


def test_every_row_of_the_table_is_tried_above() -> None:
    """A row without a test would be a row nobody has seen fire."""
    tried = {case.row for case in WINS} | {row for row, _, _ in ADDED}
    assert tried == {row.id for row in TABLE.rows}


def test_all_twenty_one_numbers_of_the_table_stand() -> None:
    """Rows 0 to 20 with no gap, each with advice, reason, source and mark."""
    numbers = {int(row.id.rstrip("abcd")) for row in TABLE.rows}
    assert numbers == set(range(21))


@pytest.mark.parametrize("stage", [IN_LEAF, PEEPING, FLOWER, MILK, DOUGH, RIPE, None])
@pytest.mark.parametrize("status", list(Status))
def test_capeweed_is_never_offered_the_contact_active(
    stage: Heads | None, status: Status
) -> None:
    """Common practice, no source: it does not control capeweed."""
    facts = at(stage, CAPEWEED)
    facts = replace(facts, actives=(glyphosate(status=status), paraquat(status=status)))
    found = decide(TABLE, facts)
    own = next(each for each in found.actives if each.active == "paraquat")
    assert own.answer is Answer.LEAVE
    assert found.fired is None or (found.fired.active, found.answer) != (
        "paraquat",
        Answer.SPRAY,
    )


def test_flowering_wanted_clover_shows_what_the_trial_lost() -> None:
    """88 % of subterranean clover seed, 90 % of medic, 25 to 50 % under paraquat.

    Wallace, Lancaster & Hill 1998, Aust. J. Exp. Agric. 38(6):583–594, abstract.
    """
    found = decide(TABLE, only(glyphosate(), facts=replace(BASE, sward=WANTED)))
    assert found.fired is not None
    highs = [TABLE.numbers[name][1].high for name in found.fired.row.numbers]
    assert highs == [88, 90]
    contact = TABLE.numbers["clover_contact"][1]
    assert (contact.low, contact.high) == (25, 50)


def test_confirmed_resistance_leaves_the_other_active() -> None:
    """Row 4 bars glyphosate; paraquat goes on by its own row."""
    found = decide(
        TABLE, at(MILK, only(glyphosate(resists=Resists.CONFIRMED), paraquat()))
    )
    assert found.fired is not None
    assert found.fired.active == "paraquat"
    barred = next(each for each in found.actives if each.active == "glyphosate")
    assert barred.answer is Answer.LEAVE
    assert barred.by is not None
    assert barred.by.row.id == "4"


def test_suspected_resistance_puts_an_active_last() -> None:
    """Both could be sprayed; the one in doubt comes after the other."""
    doubted = glyphosate(resists=Resists.SUSPECTED)
    facts = at(FLOWER, only(doubted, paraquat()))
    found = decide(TABLE, facts)
    assert found.fired is not None
    assert (found.fired.row.id, found.fired.active) == ("12", "paraquat")
    alone = decide(TABLE, replace(facts, actives=(doubted,)))
    assert alone.fired is not None
    assert alone.fired.row.id == "10"


UNKNOWN: list[tuple[str, Callable[[Facts], Facts]]] = [
    ("4", lambda facts: only(glyphosate(resists=None), facts=facts)),
    ("5b", lambda facts: only(glyphosate(resists=None, springs=None), facts=facts)),
    ("6", lambda facts: replace(facts, feed_short=None, priority_stock=None)),
    (
        "7",
        lambda facts: replace(
            facts, sward=replace(facts.sward, perennials_per_m2=None, perennials=None,
                                 clover=None, clover_thin=None, to_be_sown=None)
        ),
    ),
    (
        "17",
        lambda facts: replace(
            facts, sward=replace(facts.sward, perennials=None, age_months=None)
        ),
    ),
    ("15", lambda facts: replace(facts, uneven=None)),
    ("1", lambda facts: at(None, facts)),
    ("2", lambda facts: at(None, facts)),
    (
        "1b",
        lambda facts: only(
            glyphosate(status=Status.UNKNOWN), paraquat(), facts=facts
        ),
    ),
]  # fmt: skip


@pytest.mark.parametrize(("row", "without"), UNKNOWN, ids=lambda each: str(each)[:2])
def test_a_row_against_it_that_lacks_a_fact_is_named(
    row: str, without: Callable[[Facts], Facts]
) -> None:
    """It is handed back as not checked, and says what it needs."""
    found = decide(TABLE, without(BASE))
    (own,) = {
        each.row.id: each for each in found.not_checked if each.row.id == row
    }.values()
    assert own.holds is None
    assert any(judged.seen for _, judged in own.seen if judged.holds is None)
    assert row not in {each.row.id for each in decide(TABLE, BASE).not_checked}


def test_nothing_known_is_unknown_and_never_a_spray() -> None:
    """No stage, no clover, no count: no row may say spray."""
    bare = replace(
        BASE,
        weeds=(WeedHere("silver_grass", "silver grass", None, None), APART[1]),
        actives=tuple(
            replace(each, resists=None, springs=None, status=Status.UNKNOWN, block=None)
            for each in BASE.actives
        ),
        sward=Sward(),
        uneven=None,
        feed_short=None,
        priority_stock=None,
        sheep=None,
    )
    found = decide(TABLE, bare)
    assert found.answer is Answer.UNKNOWN
    assert found.fired is None
    assert {each.answer for each in found.actives} == {Answer.UNKNOWN}
    assert found.unknown


def test_an_unknown_clover_lets_no_choice_win_that_hangs_on_it() -> None:
    """Row 10 needs to know that no clover seed is at stake."""
    found = decide(TABLE, only(glyphosate(), facts=replace(BASE, sward=Sward())))
    assert found.answer is Answer.UNKNOWN
    assert "10" in {each.row.id for each in found.unknown}


def test_a_stop_comes_before_every_choice_and_other_stops_are_told() -> None:
    """Row 6 before row 10; rows 15 and 17 hold too and are named."""
    facts = replace(
        BASE, feed_short=True, priority_stock=True, uneven=True,
        sward=replace(SWARD, perennials=True, age_months=3.0),
    )  # fmt: skip
    found = decide(TABLE, facts)
    assert found.fired is not None
    assert found.fired.row.id == "6"
    assert [each.row.id for each in found.also] == ["15", "17"]
    assert found.then is not None
    assert found.then.row.id == "15"
    assert {each.by.row.id for each in found.actives if each.by} == {"6"}


def test_what_would_change_it_is_one_condition_away() -> None:
    """From a spray by row 10: row 6 lacks two facts and is left out, row 15 one."""
    found = decide(TABLE, BASE)
    changes = {each.row.id for each in found.changes}
    assert "15" in changes
    assert "6" not in changes
    assert all(len(each.missing) == 1 for each in found.changes)
    priority = decide(TABLE, replace(BASE, priority_stock=True))
    assert "6" in {each.row.id for each in priority.changes}


def test_before_a_stop_only_earlier_stops_can_win() -> None:
    """Nothing after a stop that holds is told as a change."""
    found = decide(TABLE, replace(BASE, uneven=True))
    assert {each.row.kind for each in found.changes} == {Kind.STOP}


def test_toxicity_turns_too_early_round() -> None:
    """DPIRD: spray at or before the first heads, no later than ten days after."""
    assert decide(TABLE, at(IN_LEAF)).answer is Answer.LEAVE
    assert decide(TABLE, at(IN_LEAF, toxicity=True)).answer is Answer.SPRAY
    uneven = at(IN_LEAF, toxicity=True, uneven=True)
    assert decide(TABLE, uneven).answer is Answer.SPRAY


def test_an_active_no_row_names_is_left_unnamed() -> None:
    """Three quarters of heads out: too few for the contact active, and no row waits."""
    found = decide(TABLE, only(paraquat()))
    assert found.answer is Answer.UNKNOWN
    (own,) = found.actives
    assert (own.answer, own.by) == (Answer.UNKNOWN, None)
