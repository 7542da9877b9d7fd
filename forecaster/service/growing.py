"""Weeds of a farm projected over its season, once per weed and break date."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.growth.belief import Belief
from forecaster.domain.growth.break_of_season import find_break, unknown_rain_days
from forecaster.domain.growth.grazing import NO_EFFECT, GrazingEffect, effect_of
from forecaster.domain.growth.season import Projection, project
from forecaster.service.scouted import Scouting, scout
from forecaster.sources.season import Season, season_span

if TYPE_CHECKING:
    from forecaster.domain.growth.grazing import Grazed
    from forecaster.domain.growth.look import Look
    from forecaster.domain.weather import Floats
    from forecaster.service.weather import FarmWeather
    from forecaster.settings.farm import Farm, Paddock


@dataclass(frozen=True, slots=True)
class SeasonBreak:
    """The day the season broke (NaT: not known) and how that is known."""

    day: np.datetime64
    how: str


@dataclass(slots=True)
class Growth:
    """The season of a farm and its projections so far."""

    farm: Farm
    season: Season
    begun: SeasonBreak
    now: np.datetime64
    """The moment the farm is looked at; stock still on have grazed until then."""
    gaps_filled: int = 0
    traces: int = 1
    ends_with_hours: bool = False
    """Whether no past year carries the season on beyond its hours."""
    looks: tuple[Look, ...] = ()
    _cache: dict[tuple[str, str, float, float], Projection] = field(
        default_factory=dict
    )
    _effects: dict[tuple[str, str, tuple[Grazed, ...]], GrazingEffect] = field(
        default_factory=dict
    )
    _scouting: Scouting | None = None
    _daily: dict[tuple[float, float], Floats] = field(default_factory=dict)

    @property
    def scouting(self) -> Scouting:
        """What the looks of this season say."""
        if self._scouting is None:
            self._scouting = scout(
                self.farm, self.looks, self.season, self.now, self.unlooked
            )
        return self._scouting

    def projection(self, weed: str, paddock: Paddock) -> Projection:
        """The projection of ``weed`` (id) in ``paddock``, looks and all."""
        base = self.unlooked(weed, paddock)
        belief = self.scouting.belief(paddock, weed, base.belief)
        return replace(base, belief=belief)

    def unlooked(self, weed: str, paddock: Paddock) -> Projection:
        """The projection of ``weed`` (id) in ``paddock`` before any look."""
        return self._projected(weed, paddock, self.grazing_effect(weed, paddock))

    def grazing_effect(self, weed: str, paddock: Paddock) -> GrazingEffect:
        """What the grazing of ``paddock`` does to the heads of ``weed`` (id)."""
        if not paddock.grazed:
            return NO_EFFECT
        key = (weed, str(self.break_of(paddock)), paddock.grazed)
        if key not in self._effects:
            ungrazed = self._projected(weed, paddock, NO_EFFECT)
            self._effects[key] = effect_of(
                paddock.grazed,
                ungrazed,
                self.season.day_of(self.now),
                self.farm.grazing,
            )
        return self._effects[key]

    def _projected(
        self, weed: str, paddock: Paddock, effect: GrazingEffect
    ) -> Projection:
        begun = self.break_of(paddock)
        key = (weed, str(begun), effect.shift, effect.spread)
        if key not in self._cache:
            known = self.farm.weeds[weed]
            self._cache[key] = project(
                known,
                self.daily(known.base.value, known.ceiling.value),
                self.season.first_day,
                begun,
                southern=self.season.southern,
                belief=Belief.prior(
                    known, 1, shift_mean=effect.shift, spread=effect.spread
                ),
            )
        return self._cache[key]

    def daily(self, base: float, ceiling: float) -> Floats:
        """Thermal time [°C d] (traces, days), worked out once per base and ceiling."""
        key = (base, ceiling)
        if key not in self._daily:
            daily, self.gaps_filled = self.season.daily(base, ceiling)
            self.traces = daily.shape[0]
            self.ends_with_hours = daily.shape[1] < self.season.days
            self._daily[key] = daily
        return self._daily[key]

    def break_of(self, paddock: Paddock) -> np.datetime64:
        """The paddock's own break, or the farm's."""
        own = paddock.autumn_break
        return self.begun.day if own is None else np.datetime64(own, "D")


def grow(farm: Farm, weather: FarmWeather, looks: tuple[Look, ...] = ()) -> Growth:
    """The season so far, the break it began with and the looks taken in it."""
    first, days = season_span(weather.place, weather.now)
    season = Season(
        weather.place,
        weather.frame,
        first,
        days,
        weather.past,
        earlier=weather.earlier,
        station_days=weather.station_days,
        members=weather.members,
    )
    season = replace(season, today=int(np.ceil(season.day_of(weather.now))))
    begun = _begin(farm, season, weather.now)
    return Growth(farm, season, begun, weather.now, looks=looks)


def _begin(farm: Farm, season: Season, now: np.datetime64) -> SeasonBreak:
    """The typed break of the farm, or one proposed from its rain."""
    if farm.autumn_break is not None:
        return SeasonBreak(
            np.datetime64(farm.autumn_break, "D"), "typed in the farm file"
        )
    today = int(np.floor(season.day_of(now)))
    rain = season.daily_rain()[:today]
    found = find_break(rain, season.first_day, southern=season.southern)
    if found is None:
        unknown = unknown_rain_days(rain, season.first_day, southern=season.southern)
        gap = f" ({unknown} days have no rain figure)" if unknown else ""
        how = f"none found in the rain{gap}; type autumn_break if it came"
        return SeasonBreak(np.datetime64("NaT", "D"), how)
    gap = f"; {found.unknown_days} days lack rain" if found.unknown_days else ""
    how = f"proposed from rain: {found.rain:.0f} mm in {found.rule.days} days{gap}"
    return SeasonBreak(found.day, how)
