"""Every window of a farm at one moment, as alerts need it; by the outlook's own steps.

Paddocks that share a weed, a break and a belief share a window, and those with the same
surroundings share their hours: each is worked out once.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from forecaster import __version__
from forecaster.domain.alerts.phases import by
from forecaster.domain.alerts.reading import FarmReading, GoodBlock, Reading, Span
from forecaster.domain.alerts.records import Change, WindowKey
from forecaster.domain.growth.stage_window import window_dates
from forecaster.domain.outlook import WindowView
from forecaster.domain.planning.windows import soonest_close, status_of
from forecaster.domain.record.after_spray import Due
from forecaster.domain.spraying.limits import Verdict
from forecaster.domain.weather import HOUR, Origin
from forecaster.service.after_view import after_view
from forecaster.service.block_views import block_views
from forecaster.service.chance import chances_of
from forecaster.service.choice_facts import against_active, typed_facts
from forecaster.service.judging import judge_paddock
from forecaster.service.likely import likely
from forecaster.service.look_view import is_uneven
from forecaster.service.paddock_window import paddock_window, timed_for_toxicity
from forecaster.service.weather import hours_to_judge
from forecaster.sources.season import season_span

if TYPE_CHECKING:
    from forecaster.domain.choice.facts import Facts
    from forecaster.domain.growth.belief import Belief
    from forecaster.domain.outlook import BlockView, Likely
    from forecaster.domain.spraying.hours import Judgement
    from forecaster.service.chance import Chances
    from forecaster.service.farm_day import FarmDay
    from forecaster.settings.actives import Active
    from forecaster.settings.farm import Farm, Paddock

_DUE = {
    Due.STOCK_EARLY: Change.STOCK_EARLY,
    Due.LOOK_AGAIN: Change.LOOK_AGAIN,
    Due.SOAKED: Change.SOAKED,
    Due.GOES_OFF: Change.GOES_OFF,
}
UNEVEN = "heads are uneven, do not spray on their mean"


def readings(day: FarmDay) -> tuple[Reading, ...]:
    """Each paddock × active that controls its target weed; unknown where it fails."""
    _, judged = hours_to_judge(day.weather)
    reader = _Reader(day, season_of(day.farm, day.weather.now), judged)
    return tuple(
        reader.reading(paddock, day.farm.actives[active])
        for paddock in day.farm.paddocks
        for active in paddock.actives
        if day.farm.actives[active].mode in day.farm.weeds[paddock.target].windows
    )


def farm_reading(day: FarmDay, clock_now: np.datetime64, basis: str) -> FarmReading:
    """The farm at one moment; weather ages by the clock."""
    frame = day.weather.frame
    issued = frame.provenance.issued
    return FarmReading(
        now=clock_now,
        season=season_of(day.farm, day.weather.now),
        source=frame.provenance.source,
        issued=None if np.isnat(issued) else issued,
        seen_until=_seen_until(frame.time, frame.origin, day.weather.now),
        horizon=frame.time[-1] + HOUR,
        basis=basis,
        skew_s=_skew(clock_now, day.weather.service_clock),
    )


def _skew(now: np.datetime64, service: np.datetime64 | None) -> float | None:
    """Seconds our clock is ahead of the weather service's."""
    return None if service is None else float((now - service) / HOUR) * 3600.0


def season_of(farm: Farm, now: np.datetime64) -> int:
    """The year in which the season began that a moment lies in."""
    first, _ = season_span(farm.place, now)
    return int(first.astype("datetime64[Y]").astype(int)) + 1970


def basis_of(farm: Farm) -> str:
    """Changes with the program, the farm's files and its looks; 12 characters."""
    total = hashlib.blake2b(__version__.encode(), digest_size=6)
    for path in sorted(farm.folder.glob("*")):
        if path.suffix in {".toml", ".geojson", ".jsonl"} and path.is_file():
            total.update(path.name.encode() + path.read_bytes())
    return total.hexdigest()


def _seen_until(
    time: np.typing.NDArray[np.datetime64],
    origin: np.typing.NDArray[np.uint8],
    now: np.datetime64,
) -> np.datetime64 | None:
    """The end of the last observed hour before now."""
    seen = np.flatnonzero((time < now) & (origin == Origin.OBSERVED))
    return None if seen.size == 0 else time[seen[-1]] + HOUR


class _Dates(NamedTuple):
    """A window in dates."""

    view: WindowView
    close_soon: np.datetime64 | None
    open_now: float


class _Week(NamedTuple):
    """The hours of one active amid one kind of surroundings."""

    name: tuple[object, ...]
    judgement: Judgement
    chances: Chances


@dataclass(slots=True)
class _Reader:
    """Works out what paddocks share only once."""

    day: FarmDay
    season: int
    judged: np.datetime64
    """The end of the hours that are judged; a forecast may reach further."""
    _windows: dict[tuple[object, ...], tuple[Belief, _Dates | None]] = field(
        default_factory=dict
    )
    _hours: dict[tuple[object, ...], _Week] = field(default_factory=dict)
    _blocks: dict[tuple[object, ...], tuple[BlockView, ...]] = field(
        default_factory=dict
    )

    _facts: dict[str, Facts] = field(default_factory=dict)

    def reading(self, paddock: Paddock, active: Active) -> Reading:
        """One window; a failure is told in its place."""
        try:
            found = self._reading(paddock, active)
            due = self._due(paddock, active)
            return replace(found, due=due) if due else found
        except Exception as error:  # noqa: BLE001 - one paddock must never stop the others
            return self._told(paddock, active, fault=f"{type(error).__name__}: {error}")

    def _due(self, paddock: Paddock, active: Active) -> tuple[Change, ...]:
        """What a sprayed paddock asks for, said of one of its windows alone."""
        speaks = paddock.sprayed is not None and active.id == self._speaker(paddock)
        after = after_view(self.day, paddock) if speaks else None
        return () if after is None else tuple(_DUE[each] for each in after.due)

    def _speaker(self, paddock: Paddock) -> str:
        """The recorded active if its window is watched, else the first that is."""
        here = [each for each in paddock.actives if self._has_window(paddock, each)]
        used = () if paddock.recorded is None else paddock.recorded.actives
        return next((each for each in here if each in used), here[0])

    def _has_window(self, paddock: Paddock, active: str) -> bool:
        farm = self.day.farm
        return farm.actives[active].mode in farm.weeds[paddock.target].windows

    def _reading(self, paddock: Paddock, active: Active) -> Reading:
        name, dates = self._dates(paddock, active)
        if dates is None:
            return self._told(paddock, active, fault="its dates cannot be told")
        if against := self._against(paddock, active):
            return self._told(paddock, active, dates=dates, against=against)
        week = self._week(paddock, active)
        good = self._inside(week, name, dates.view, Verdict.GOOD)
        looks = self._inside(week, name, dates.view, Verdict.LOOK_FIRST)
        light = week.judgement.verdict[self.day.air.daylight]
        unknown = bool((light == Verdict.UNKNOWN).all())
        return self._told(
            paddock,
            active,
            dates=dates,
            blocks=good,
            hours=np.nan if unknown else sum(_hours(b) for b in good),
            look_hours=np.nan if unknown else sum(_hours(b) for b in looks),
        )

    def _told(
        self,
        paddock: Paddock,
        active: Active,
        *,
        dates: _Dates | None = None,
        blocks: tuple[GoodBlock, ...] = (),
        hours: float = float("nan"),
        look_hours: float = float("nan"),
        against: str = "",
        fault: str = "",
    ) -> Reading:
        farm = self.day.farm
        nothing = Span(None, None, None)
        return Reading(
            key=WindowKey(self.season, paddock.id, paddock.target, active.id),
            paddock=paddock.name,
            weed=farm.weeds[paddock.target].name,
            hectares=paddock.hectares,
            needed=paddock.hectares / farm.alerts.hectares_an_hour,
            sprayed=paddock.sprayed is not None,
            open=nothing if dates is None else _span(dates.view.open),
            close=nothing if dates is None else _span(dates.view.closed),
            close_soon=None if dates is None else dates.close_soon,
            open_now=float("nan") if dates is None else dates.open_now,
            blocks=blocks,
            hours=hours,
            look_hours=look_hours,
            in_sight=dates is not None and by(dates.view.closed.likely, self.judged),
            against=against,
            fault=fault,
        )

    def _against(self, paddock: Paddock, active: Active) -> str:
        """Why nobody should spray by its dates, as the outlook's next step has it."""
        if paddock.id not in self._facts:
            self._facts[paddock.id] = typed_facts(self.day, paddock)
        found = against_active(self.day, self._facts[paddock.id], active.id)
        if found is not None:
            return f"do not spray, {found.advice}"
        scouting = self.day.growth.scouting
        scouted = scouting.of(paddock, paddock.target)
        uneven = scouted is not None and is_uneven(scouting.chance_uneven(scouted))
        toxic = timed_for_toxicity(paddock, self.day.farm.weeds[paddock.target])
        return UNEVEN if uneven and not toxic else ""

    # -------------------------------------------------------------- windows

    def _dates(
        self, paddock: Paddock, active: Active
    ) -> tuple[tuple[object, ...], _Dates | None]:
        projection = self.day.growth.projection(paddock.target, paddock)
        toxic = timed_for_toxicity(paddock, projection.weed)
        begun = str(self.day.growth.break_of(paddock))
        name = (paddock.target, active.mode, toxic, begun, id(projection.belief))
        if name not in self._windows:
            window = paddock_window(paddock, projection, active.mode)
            if window is None:
                told = None
            else:
                season = self.day.growth.season
                day = season.day_of(self.day.weather.now)
                dates = window_dates(window)
                edges = (dates.open, dates.best_from, dates.best_until, dates.closed)
                soon = soonest_close(window, day)
                told = _Dates(
                    WindowView(*(likely(edge, season) for edge in edges)),
                    season.moment_of(soon) if np.isfinite(soon) else None,
                    status_of(window, day).open_now,
                )
            # The belief is kept so that its id stays its own.
            self._windows[name] = (projection.belief, told)
        return name, self._windows[name][1]

    # ---------------------------------------------------------------- hours

    def _week(self, paddock: Paddock, active: Active) -> _Week:
        around = paddock.exposure
        name = (
            active.id, paddock.target, around.exposed.tobytes(), around.hollow,
            around.known,
        )  # fmt: skip
        if name not in self._hours:
            farm, air = self.day.farm, self.day.air
            judgement = judge_paddock(farm, air, paddock, active, paddock.target)
            chances = chances_of(air, paddock, judgement, farm.errors)
            self._hours[name] = _Week(name, judgement, chances)
        return self._hours[name]

    def _inside(
        self,
        week: _Week,
        dates: tuple[object, ...],
        view: WindowView,
        verdict: Verdict,
    ) -> tuple[GoodBlock, ...]:
        """Blocks of a verdict inside the window, from now to its likely close."""
        whole = (*week.name, dates, verdict)
        if whole not in self._blocks:
            self._blocks[whole] = block_views(
                week.judgement, self.day.air, verdict, view, week.chances
            )
        now, close = self.day.weather.now, view.closed.likely
        cut = (_cut(each, now, close) for each in self._blocks[whole] if each.in_window)
        return tuple(each for each in cut if each is not None)


def _cut(
    block: BlockView, now: np.datetime64, close: np.datetime64 | None
) -> GoodBlock | None:
    """What is left of a block between now and the close."""
    start = max(block.start, now)
    end = block.end if close is None else min(block.end, close)
    if end <= start:
        return None
    return GoodBlock(start, end, block.wind_from, block.wind_speed[1], block.chance)


def _hours(block: GoodBlock) -> float:
    return float((block.end - block.start) / HOUR)


def _span(edge: Likely) -> Span:
    return Span(edge.early, edge.likely, edge.late)
