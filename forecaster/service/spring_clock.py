"""Springs running with one active, and the paddocks to look at next spring."""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.domain.result.result_log import ResultLog
from forecaster.domain.result.result_page import ClockPage
from forecaster.domain.result.spring_clock import candidates, ticks
from forecaster.errors import InputMissingError, SettingsError
from forecaster.service.known_springs import known_springs
from forecaster.service.result_log import results_path
from forecaster.settings.names import same_name
from forecaster.store.results import read_results

if TYPE_CHECKING:
    from forecaster.domain.result.result_log import ResultEntry
    from forecaster.settings.farm import Farm

SPRING = 9
"""The month from which a year's spring has begun."""
_M2 = 10_000.0


def clock_page(farm: Farm, *, demo: bool = False) -> ClockPage:
    """Every paddock's springs and the list for next spring.

    Raises
    ------
    SettingsError
        If a past spray lies in a year that has not come.
    """
    known = known_springs(farm)
    today = known.today
    _check_past(farm, today.year)
    latest = today.year if today.month >= SPRING else today.year - 1
    past = {each.name: each.springs for each in known.farm.paddocks}
    used = {name: each.used(farm.actives) for name, each in past.items()}
    listed = [
        tick
        for name, each in past.items()
        for tick in ticks(name, used[name], latest, each.recorded)
    ]
    log = _log(farm)
    shares = {
        (each.name, weed): share
        for each in farm.paddocks
        for weed, share in each.weeds.items()
    }
    return ClockPage(
        farm=farm.name,
        latest=latest,
        ticks=tuple(sorted(listed, key=lambda each: -each.run)),
        untyped=tuple(name for name, each in used.items() if not each),
        candidates=candidates(shares, _seedlings(farm, log.standing)),
        warnings=(*known.log.warnings, *known.gainsaid, *log.warnings),
        demo=demo,
    )


def _log(farm: Farm) -> ResultLog:
    """The results; a log that cannot be read costs the list its counts alone."""
    try:
        return read_results(results_path(farm))
    except InputMissingError as error:
        return ResultLog(warnings=(f"{error}; no result is used",))


def _check_past(farm: Farm, this_year: int) -> None:
    faults = [
        farm.document.fault(
            ("paddock", number, "past", place, "year"),
            f"year = {year} has not come; allowed is up to {this_year}",
        )
        for number, each in enumerate(farm.paddocks)
        for place, (year, _) in enumerate(each.past)
        if year > this_year
    ]
    if faults:
        raise SettingsError(faults)


def _seedlings(
    farm: Farm, entries: tuple[ResultEntry, ...]
) -> dict[tuple[str, str], tuple[int, float]]:
    """Newest year and seedlings [plants/m²]; of one year the last line stands."""
    names = {same_name(each.name): each.name for each in farm.paddocks}
    found: dict[tuple[str, str], tuple[int, float]] = {}
    for each in entries:
        paddock = names.get(same_name(each.paddock))
        if paddock is None:
            continue
        key = (paddock, each.weed)
        if key not in found or each.year >= found[key][0]:
            mean = sum(each.treated) / len(each.treated)
            found[key] = (each.year, mean * _M2 / each.side_cm**2)
    return found
