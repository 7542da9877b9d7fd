"""Did last spring's spray work? Counts of seedlings held against what trials say."""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.domain.growth.control import CLASSES, OUTSIDE, by_class
from forecaster.domain.result import expected as judging
from forecaster.domain.result.expected import Expected, Found, Seen, expected
from forecaster.domain.result.reduction import Reduction, reduction
from forecaster.domain.result.result_page import ResultPage
from forecaster.domain.result.spring_clock import running
from forecaster.errors import UsageError
from forecaster.service import result_words
from forecaster.service.known_springs import known_springs
from forecaster.service.look_count import weed_called
from forecaster.service.result_record import jobs_of, sprayed
from forecaster.service.springs import gainsaid
from forecaster.service.wiring import paddock_called
from forecaster.settings.names import unknown
from forecaster.settings.stage_words import CLASSES as NAMED

if TYPE_CHECKING:
    from forecaster.domain.growth.control import Trial
    from forecaster.domain.growth.weed import Weed
    from forecaster.domain.sourced import Sourced
    from forecaster.service.result_words import AskedResult
    from forecaster.settings.farm import Farm, Paddock

COVER = 0.95
"""[share] How often limits made this way hold the truth."""


def result(
    farm: Farm, paddock: str, asked: AskedResult, *, demo: bool = False
) -> ResultPage:
    """Hold the counts of two strips against each other and against trials.

    Raises
    ------
    UsageError
        If something typed is not what it should be.
    """
    known = known_springs(farm)
    here = paddock_called(known.farm, paddock)
    weed = weed_called(farm, here, asked.weed or here.target)
    _check_active(farm, asked.active)
    year = result_words.year_of(asked.year, known.today.year)
    side = result_words.side_of(asked.side_cm)
    found = reduction(
        result_words.counts_of(asked.treated, "--treated"),
        result_words.counts_of(asked.untreated, "--untreated"),
        side_cm=side,
        quantile_of=_quantile,
    )
    jobs = jobs_of(known, here.name, year)
    spray = sprayed(asked, jobs, farm.actives, year)
    active, stage = spray.active, spray.stage
    typed = result_words.control_of(asked.control)
    wanted, at_stage = _wanted(farm, weed, active, stage, typed)
    judged = judging.judged(found, wanted)
    told = Seen(_off_stage(wanted, at_stage, found), asked.uneven, asked.rain)
    return ResultPage(
        paddock=here.name,
        weed_name=weed.name,
        year=year,
        active=active,
        stage=stage,
        side_cm=side,
        found=found,
        wanted=wanted,
        at_stage=at_stage,
        judged=judged,
        causes=()
        if judged is not Found.SHORT or wanted is None
        else judging.causes(told, found, wanted),
        run=0 if active is None else _run(farm, here, active, year),
        by_record=spray.by_record,
        remarks=(
            *spray.remarks,
            *known.log.warnings,
            *gainsaid(here, farm.actives),
        ),
        demo=demo,
    )


def _check_active(farm: Farm, typed: str | None) -> None:
    if typed is not None and typed not in farm.actives:
        raise UsageError(f"--active: {unknown('active', typed, farm.actives)}")


def _quantile(free: int) -> float:
    from scipy.special import stdtrit

    return float(stdtrit(free, 1.0 - (1.0 - COVER) / 2.0))


def _run(farm: Farm, paddock: Paddock, active: str, year: int) -> int:
    """Springs running up to this spray, itself among them."""
    past = paddock.springs.used(farm.actives)
    years = {each for each, used in past if used == active and each < year}
    return running(years | {year}, year)


def _wanted(
    farm: Farm, weed: Weed, active: str | None, stage: str | None, typed: Sourced | None
) -> tuple[Expected | None, Expected | None]:
    """At the trials' best stage or as typed, and at the stage of the spray."""
    control = farm.controls.get(weed.id)
    if control is None:
        return None, None
    if typed is not None:
        return expected(typed, control.carry_over), None
    mode = None if active is None else farm.actives[active].mode
    trial = None if mode is None else control.trials.get(mode)
    if trial is None:
        return None, None
    best = expected(_best(trial), control.carry_over)
    if stage is None:
        return best, None
    there = by_class(trial, weed)[CLASSES.index(NAMED[stage])]
    return best, expected(there, control.carry_over)


def _best(trial: Trial) -> Sourced:
    return max(trial.values(), key=lambda each: each.value)


def _off_stage(
    wanted: Expected | None, at_stage: Expected | None, found: Reduction
) -> bool | None:
    """Whether the stage explains it: trials found clearly less there, and so little.

    Clearly: the best there lies below the middle at the best stage. A stage that no
    trial bounds settles nothing.
    """
    if wanted is None or at_stage is None:
        return None
    if at_stage.control.value >= wanted.control.low:
        return False
    if at_stage.control.source == OUTSIDE:
        return None
    clearly = at_stage.control.high < wanted.control.value
    return True if clearly and found.low <= at_stage.high else None
