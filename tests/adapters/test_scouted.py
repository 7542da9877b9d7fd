"""From looks to the outlook: the demo farm's scenario, and what is left out."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pytest

from forecaster.domain.growth.look import Look
from forecaster.domain.growth.stage import Stage
from forecaster.domain.planning.next_step import Step
from forecaster.domain.planning.uneven import Choice, choices
from forecaster.domain.planning.windows import Status
from forecaster.render import text
from forecaster.service.daily import outlook
from forecaster.service.explain_view import explain
from forecaster.service.farm_day import FarmDay
from forecaster.service.look_advice import look_advice
from forecaster.service.wiring import chosen

if TYPE_CHECKING:
    from forecaster.domain.outlook import Outlook, PaddockOutlook

H, M = Stage.HEADING, Stage.MILK
SEEN = np.datetime64("2026-10-11T01:00:00")
DAY = np.timedelta64(1, "D")
MAY = np.datetime64("2026-05-03", "s")


def look(
    paddock: str,
    weed: str,
    *counts: tuple[Stage | None, int],
    at: np.datetime64 = SEEN,
) -> Look:
    """A look of the demo's Sunday."""
    return Look(f"{paddock} {weed} {at}", paddock, weed, at, counts)


SUNDAY = (
    look("Creek Flat", "silver_grass", (None, 40), (H, 60)),
    look("Woolshed", "barley_grass", (Stage.WATERY, 2), (M, 40), (Stage.SOFT_DOUGH, 8)),
    look("Top Dam", "barley_grass", (None, 30), (H, 35), (M, 35)),
    look("Vine Boundary", "brome_grass", (None, 5), (H, 40), (Stage.FLOWERING, 5)),
    look("Back Road", "silver_grass", (None, 25), (H, 75)),
)
"""What the invented farm's person counted on 11 October."""


def seen(day: FarmDay, looks: tuple[Look, ...]) -> Outlook:
    """The outlook with looks."""
    return outlook(FarmDay.of(day.farm, day.weather, looks))


def paddock(found: Outlook, name: str) -> PaddockOutlook:
    """One paddock of it."""
    return next(each for each in found.paddocks if each.name == name)


@pytest.fixture(scope="module")
def bare_day(demo_day: FarmDay) -> FarmDay:
    """The demo farm before anyone had looked."""
    return FarmDay.of(demo_day.farm, demo_day.weather)


@pytest.fixture(scope="module")
def sunday(bare_day: FarmDay) -> Outlook:
    """The outlook after all of Sunday's looks."""
    return seen(bare_day, SUNDAY)


def test_three_in_four_out_closes_the_window_in_days(
    bare_day: FarmDay, sunday: Outlook
) -> None:
    """75 of 100 silver-grass heads out: glyphosate closes within days, surely.

    At 75 % the heads are 0.67 SD past heading (scipy's normal); silver grass goes
    80 °C d from heading to watery, where half closes it, at about 11 °C d a day.
    """
    before = paddock(outlook(bare_day), "Back Road")
    after = paddock(sunday, "Back Road")
    assert after.look is not None
    assert after.look.heads == 100
    assert not after.look.small
    window = after.actives[0].window
    assert window is not None
    closed, then = window.closed, before.actives[0].window
    assert then is not None
    assert closed.early is not None
    assert closed.late is not None
    assert then.closed.early is not None
    assert then.closed.late is not None
    assert closed.late - closed.early < (then.closed.late - then.closed.early) / 2
    assert closed.likely is not None
    left = (closed.likely - sunday.now) / DAY
    assert 1 <= left <= 7
    assert after.actives[0].status is Status.CLOSING


def test_uneven_heads_are_never_sprayed_on_the_mean(sunday: Outlook) -> None:
    """30 not out, 35 out, 35 in milk: no spray, and what is left in order."""
    top_dam = paddock(sunday, "Top Dam")
    assert top_dam.uneven is not None
    assert top_dam.uneven.factor > 1.4
    assert top_dam.uneven.choices[0] is Choice.EARLY_AND_AGAIN
    assert {active.step for active in top_dam.actives} == {Step.UNEVEN}
    assert all(active.step_block is None for active in top_dam.actives)
    printed = " ".join(text.render(sunday).split())
    assert "do not spray on the mean. In this order: 1." in printed


def test_even_heads_are_not_called_uneven(sunday: Outlook) -> None:
    """One class and its neighbour, as even heads would show."""
    for name in ("Creek Flat", "Woolshed", "Vine Boundary", "Back Road"):
        assert paddock(sunday, name).uneven is None


def test_the_options_start_with_grazing_while_heads_are_in() -> None:
    """From half of the heads not out on; without a translocated active, one less."""
    assert choices(0.5, translocated=True)[0] is Choice.GRAZE_HARD
    assert Choice.GRAZE_HARD not in choices(0.49, translocated=True)
    assert Choice.GRAZE_HARD not in choices(float("nan"), translocated=True)
    assert choices(0.1, translocated=False)[0] is Choice.SPLIT
    assert choices(0.1, translocated=False)[-1] is Choice.LEAVE


def test_the_outlook_says_what_the_look_changed(
    bare_day: FarmDay, sunday: Outlook
) -> None:
    """Days moved, and the range before and after, as the dates themselves say."""
    after = paddock(sunday, "Vine Boundary").look
    assert after is not None
    assert after.before.likely is not None
    assert after.after.likely is not None
    days = round(float((after.after.likely - after.before.likely) / DAY))
    printed = " ".join(text.render(sunday).split())
    way = "later" if days > 0 else "earlier"
    plural = "" if abs(days) == 1 else "s"
    assert f"moved brome grass {abs(days)} day{plural} {way}" in printed
    assert "narrowed the range from" in printed
    assert "by the look of 11 Oct" in printed
    unlooked = " ".join(text.render(outlook(bare_day)).split())
    assert "by the look of" not in unlooked


def test_a_look_moves_its_neighbours_a_little(
    bare_day: FarmDay, sunday: Outlook
) -> None:
    """House was not looked at: its range shrinks, by less than Back Road's own."""

    def width(found: Outlook, name: str) -> float:
        stage = paddock(found, name).stage
        assert stage is not None
        assert stage.half_headed.late is not None
        assert stage.half_headed.early is not None
        return float((stage.half_headed.late - stage.half_headed.early) / DAY)

    before = outlook(bare_day)
    assert paddock(sunday, "House").look is None
    assert width(before, "House") > width(sunday, "House") > width(sunday, "Back Road")


def test_looks_of_tomorrow_and_of_last_year_change_nothing(bare_day: FarmDay) -> None:
    """Only this season's looks up to now count."""
    other = (
        look("Back Road", "silver_grass", (H, 50), at=bare_day.weather.now + DAY),
        look("Back Road", "silver_grass", (H, 50), at=np.datetime64("2025-10-01", "s")),
    )
    assert repr(seen(bare_day, other)) == repr(outlook(bare_day))


def test_a_look_that_cannot_be_used_says_why(bare_day: FarmDay) -> None:
    """A paddock that is gone, and a date before the weed came up."""
    found = seen(
        bare_day,
        (
            look("Sold Off", "silver_grass", (H, 50)),
            look(
                "House", "silver_grass", (None, 30), at=np.datetime64("2026-05-03", "s")
            ),
        ),
    )
    said = " ".join(found.weather.warnings)
    assert "no such paddock or weed" in said
    assert "had not come up by then" in said


def test_a_look_next_to_impossible_is_said_to_be(bare_day: FarmDay) -> None:
    """All heads ripe in the first week of September."""
    odd = look(
        "House", "silver_grass", (H, 0), (Stage.HARD_DOUGH, 60),
        at=np.datetime64("2026-09-01T02:00:00"),
    )  # fmt: skip
    found = seen(bare_day, (odd,))
    view = paddock(found, "House").look
    assert view is not None
    assert view.surprising
    assert "check paddock, weed, date" in " ".join(text.render(found).split())


def test_looks_come_in_any_order(bare_day: FarmDay, sunday: Outlook) -> None:
    """The order of the log changes nothing."""
    assert repr(seen(bare_day, SUNDAY[::-1])) == repr(sunday)


def test_advice_names_the_look_that_spares_most(bare_day: FarmDay) -> None:
    """Sorted by hectares spared; what was just counted falls behind."""
    before = look_advice(bare_day)
    spared = [each.hectares_spared for each in before]
    assert spared == sorted(spared, reverse=True)
    assert {each.paddock for each in before} == {
        each.name for each in bare_day.farm.paddocks
    }
    first = before[0]
    counted = look(first.paddock, first.weed, (None, 28), (H, 2))
    day = FarmDay.of(bare_day.farm, bare_day.weather, (counted,))
    again = next(
        each
        for each in look_advice(day)
        if (each.paddock, each.weed) == (first.paddock, first.weed)
    )
    assert again.hectares_spared < first.hectares_spared / 2
    assert again.range_now < first.range_now


def test_no_advice_for_what_is_sprayed_or_unknown(bare_day: FarmDay) -> None:
    """A sprayed paddock needs no look; without a break nothing can be told."""
    farm = bare_day.farm
    sprayed = replace(
        farm,
        paddocks=tuple(
            replace(each, sprayed=date(2026, 10, 10)) for each in farm.paddocks
        ),
    )
    assert look_advice(FarmDay.of(sprayed, bare_day.weather)) == ()
    begun = replace(bare_day.growth.begun, day=np.datetime64("NaT", "D"))
    growth = replace(bare_day.growth, begun=begun, _cache={}, _scouting=None)
    assert look_advice(replace(bare_day, growth=growth)) == ()


def test_explain_reads_the_looks_against_a_moved_break(
    bare_day: FarmDay, demo_day: FarmDay
) -> None:
    """A look outweighs the break: moving it moves heads less than without a look.

    And the stated uncertainty is the narrower one of the look.
    """

    def moves(day: FarmDay) -> list[float]:
        found = explain(day, *chosen(day, "Back Road", None))
        return [abs(each.heading) for each in found.changes]

    for looked, unlooked in zip(moves(demo_day), moves(bare_day), strict=True):
        assert looked < unlooked / 2
