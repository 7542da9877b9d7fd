"""A service on loopback that answers in Open-Meteo's, MET Norway's and SILO's shapes.

The numbers are invented; the shapes are those the services publish.
"""

from __future__ import annotations

import json
import math
from contextlib import suppress
from functools import lru_cache, partial
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import Event, Thread
from typing import TYPE_CHECKING, Any, Protocol
from urllib.parse import parse_qs, urlparse

import numpy as np
import pytest

from forecaster.service import asker, wiring
from forecaster.sources.conduct import Conduct

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from forecaster.service.farm_day import FarmDay

HOUR = np.timedelta64(3600, "s")
DAY = np.timedelta64(86_400, "s")
UNITS = {
    "temperature_2m": "°C", "temperature_80m": "°C", "dew_point_2m": "°C",
    "relative_humidity_2m": "%", "surface_pressure": "hPa", "wind_speed_10m": "m/s",
    "wind_direction_10m": "°", "wind_gusts_10m": "m/s", "precipitation": "mm",
    "precipitation_probability": "%", "cloud_cover": "%", "cloud_cover_low": "%",
    "shortwave_radiation": "W/m²",
}  # fmt: skip
MEMBERS = 7
SILO_HEAD = (
    "latitude,longitude,YYYY-MM-DD,daily_rain,daily_rain_source,max_temp,"
    "max_temp_source,min_temp,min_temp_source,metadata"
)


def value(name: str, moment: np.datetime64, shift: float = 0.0) -> float:
    """Mild spring weather by the hour; ``shift`` sets members apart."""
    return _values(moment, shift)[name]


@lru_cache(maxsize=100_000)
def _values(moment: np.datetime64, shift: float) -> dict[str, float]:
    hours = float((moment - np.datetime64("2026-01-01T00:00", "s")) / HOUR)
    warm = math.sin((hours % 24 + 4) / 24 * 2 * math.pi)  # noon near 02:00 UTC
    year = 13.0 - 5.0 * math.cos((hours / 24 - 18) / 365 * 2 * math.pi + math.pi)
    temperature = year + 6.0 * warm + shift + 0.3 * math.sin(hours)
    return {
        "temperature_2m": temperature,
        "temperature_80m": temperature - 1.2 * (1 if warm > 0 else -1),
        "dew_point_2m": year - 9.0,
        "relative_humidity_2m": round(60.0 - 20.0 * warm),
        "surface_pressure": 965.0 + math.sin(hours / 30),
        "wind_speed_10m": 3.6 + 0.6 * math.sin(hours / 7) + 0.05 * shift,
        "wind_direction_10m": round(180 + 40 * math.sin(hours / 19)) % 360,
        "wind_gusts_10m": 5.0 + 0.5 * math.sin(hours / 7),
        "precipitation": _rain(moment, int(hours)),
        "precipitation_probability": 5,
        "cloud_cover": round(40 + 30 * math.sin(hours / 11)),
        "cloud_cover_low": round(10 + 10 * math.sin(hours / 11)),
        "shortwave_radiation": max(0.0, 650 * warm),
    }


def _rain(moment: np.datetime64, hours: int) -> float:
    """A break of 31 mm on 2 May of every year, and a shower each week or so."""
    if str(moment)[5:10] == "05-02":
        return 1.3
    return 0.4 if hours % 190 < 3 else 0.0


@lru_cache(maxsize=512)
def open_meteo(
    path: str,
    asked: tuple[tuple[str, str], ...],
    today: Any,
    left_out: tuple[str, ...],
) -> bytes:
    """One answer; most tests ask for the same years, so each is made once."""
    query = dict(asked)
    if "start_date" in query:
        start = np.datetime64(query["start_date"], "s")
        end = np.datetime64(query["end_date"], "s") + DAY
        end = min(end, today - 4 * DAY)
    else:
        start = today - int(query.get("past_days", "0")) * DAY
        end = today + int(query["forecast_days"]) * DAY
    time = np.arange(start, end, HOUR)
    names = query["hourly"].split(",")
    if path == "/v1/forecast" and "models" not in query:
        names = [name for name in names if name not in left_out]
    columns = {name: _column(name, time) for name in names}
    if path == "/v1/ensemble":
        for member in range(1, MEMBERS):
            for name in names:
                columns[f"{name}_member{member:02d}"] = _column(
                    name, time, (member - MEMBERS // 2) * 0.8
                )
    document = {
        "latitude": float(query["latitude"]),
        "longitude": float(query["longitude"]),
        "generationtime_ms": 0.3,
        "utc_offset_seconds": 0,
        "timezone": "GMT",
        "timezone_abbreviation": "GMT",
        "elevation": 420.0,
        "hourly_units": {"time": "iso8601", **{name: _unit(name) for name in columns}},
        "hourly": {
            "time": [str(each)[:16] for each in time.astype("datetime64[m]")],
            **columns,
        },
    }
    return json.dumps(document).encode()


def _column(name: str, time: np.ndarray, shift: float = 0.0) -> list[float]:
    base, _, previous = name.partition("_previous_day")
    drift = 0.4 * int(previous) if previous else 0.0
    return [round(value(base, each, shift + drift), 2) for each in time]


class Service:
    """What is served, what was asked, and how it fails."""

    def __init__(self) -> None:
        self.now = np.datetime64("2026-10-11T20:00", "s")
        self.asked: list[str] = []
        self.down = False
        self.norway_down = False
        self.gone = ""
        """What a path must hold to be answered with 404; nothing: none is."""
        self.limited = False
        self.dripping = ""
        """What a path must hold for its answer never to end; nothing: none does."""
        self.closing = Event()
        self.silo_down = False
        self.silo_page: str | None = None
        """What SILO sends with status 200 in place of data."""
        self.silo_averages: tuple[str, ...] = ()
        """Dates of which SILO has the long-term average only."""
        self.silo_warmer = 0.0
        """[K] by how much SILO is warmer than the archive."""
        self.silo_height = 420.0
        """[m] of SILO's point."""
        self.left_out: tuple[str, ...] = ()
        """Quantities the hourly forecast does not hold."""

    def asked_for(self, part: str) -> list[str]:
        """The requests whose path or query holds ``part``."""
        return [path for path in self.asked if part in path]

    def answer(self, path: str) -> tuple[int, bytes]:
        """Status and body of one request."""
        self.asked.append(path)
        url = urlparse(path)
        query = {name: values[0] for name, values in parse_qs(url.query).items()}
        if url.path.startswith("/weatherapi"):
            return (503, b"down") if self.norway_down else (200, self._norway(query))
        if url.path.startswith("/cgi-bin/silo"):
            return (503, b"down") if self.silo_down else (200, self._silo(query))
        return self._from_open_meteo(path, url.path, query)

    def _from_open_meteo(
        self, whole: str, path: str, query: dict[str, str]
    ) -> tuple[int, bytes]:
        if self.limited:
            return 429, b'{"error":true,"reason":"too many"}'
        if self.gone and self.gone in whole:
            return 404, b'{"error":true,"reason":"no such page"}'
        if self.down:
            return 503, b'{"error":true,"reason":"down"}'
        if path.startswith("/data/"):
            return 200, json.dumps(self.status()).encode()
        today = self.now.astype("datetime64[D]").astype("datetime64[s]")
        return 200, open_meteo(path, tuple(query.items()), today, self.left_out)

    def status(self) -> dict[str, int]:
        """A model status; runs are served 23,124 s after they began.

        Names and delays: a document of ECMWF IFS printed in the description of the
        Rust crate odin_openmeteo (open source).
        """
        now = int(self.now.astype(np.int64))
        began = (now - 23_124 - 600) // 21_600 * 21_600
        return {
            "chunk_time_length": 504,
            "data_end_time": began + 1_299_600,
            "last_run_availability_time": began + 23_124,
            "last_run_initialisation_time": began,
            "last_run_modification_time": began + 22_529,
            "temporal_resolution_seconds": 3600,
            "update_interval_seconds": 21_600,
        }

    def _silo(self, query: dict[str, str]) -> bytes:
        """The days of :func:`value` cut at 9 am, as the Bureau of Meteorology does."""
        if self.silo_page is not None:
            return self.silo_page.format(**query).encode()
        first, last = (
            np.datetime64(f"{day[:4]}-{day[4:6]}-{day[6:]}", "s")
            for day in (query["start"], query["finish"])
        )
        # 9 am of eastern standard time is 23:00 UTC of the day before.
        time = np.arange(first - 25 * HOUR, last + 23 * HOUR, HOUR)
        hourly = [(value("temperature_2m", t), value("precipitation", t)) for t in time]
        warm, rain = np.array(hourly).reshape(-1, 24, 2).transpose(2, 0, 1)
        place = f" {float(query['latitude']):.4f}, {float(query['longitude']):.4f}"
        notes = [
            f'"elevation= {self.silo_height:.1f} m"',
            '"reference=RXN"',
            '"extracted=20261011"',
        ]
        notes += ['"dataset=BoM Only"', '"Please read the pages of the service"']
        rows = []
        for number, day in enumerate(np.arange(first, last + DAY, DAY)):
            date = str(day)[:10]
            code = 75 if date in self.silo_averages else 25
            high = warm[number + 1].max() + self.silo_warmer
            low = warm[number].min() + self.silo_warmer
            note = notes[number] if number < len(notes) else '""'
            rows.append(
                f"{place},{date},{rain[number].sum():7.1f},25,{high:5.1f},{code},"
                f"{low:5.1f},{code},{note}"
            )
        rows += [f"{place},,,,,,,,{note}" for note in notes[len(rows) :]]
        return "".join(f"{row}\n" for row in (SILO_HEAD, *rows)).encode()

    def _norway(self, query: dict[str, str]) -> bytes:
        start = self.now.astype("datetime64[h]").astype("datetime64[s]")
        series = []
        for hour in range(60):
            moment = start + hour * HOUR
            details = {
                "air_pressure_at_sea_level": 1015.0 + math.sin(hour / 9),
                "air_temperature": value("temperature_2m", moment),
                "cloud_area_fraction": value("cloud_cover", moment),
                "cloud_area_fraction_low": value("cloud_cover_low", moment),
                "dew_point_temperature": value("dew_point_2m", moment),
                "relative_humidity": value("relative_humidity_2m", moment),
                "wind_from_direction": value("wind_direction_10m", moment),
                "wind_speed": value("wind_speed_10m", moment),
            }
            series.append(
                {
                    "time": f"{moment}Z",
                    "data": {
                        "instant": {"details": details},
                        "next_1_hours": {
                            "summary": {"symbol_code": "fair_day"},
                            "details": {"precipitation_amount": 0.0},
                        },
                    },
                }
            )
        units = {
            "air_pressure_at_sea_level": "hPa", "air_temperature": "celsius",
            "cloud_area_fraction": "%", "cloud_area_fraction_low": "%",
            "dew_point_temperature": "celsius", "precipitation_amount": "mm",
            "relative_humidity": "%", "wind_from_direction": "degrees",
            "wind_speed": "m/s",
        }  # fmt: skip
        place = [float(query["lon"]), float(query["lat"]), 420]
        meta = {"updated_at": f"{self.now}Z", "units": units}
        return json.dumps(
            {
                "type": "Feature",
                "geometry": {"type": "Point", "coordinates": place},
                "properties": {"meta": meta, "timeseries": series},
            }
        ).encode()


def _unit(name: str) -> str:
    base = name.partition("_member")[0].partition("_previous_day")[0]
    return UNITS[base]


@pytest.fixture(autouse=True)
def _short_waits(monkeypatch: pytest.MonkeyPatch) -> None:
    """The usual manners, but for the waits between tries; those have their own test."""
    monkeypatch.setattr(asker, "Conduct", partial(Conduct, backoff_s=0.01))


@pytest.fixture
def service() -> Iterator[tuple[Service, str]]:
    """The service and its address."""
    state = Service()

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            """Answer one request."""
            if state.dripping and state.dripping in self.path:
                self._drip()
                return
            status, body = state.answer(self.path)
            self.send_response(status)
            if status == HTTPStatus.TOO_MANY_REQUESTS:
                self.send_header("Retry-After", "7200")
            self.send_header("Content-Type", "application/json")
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def _drip(self) -> None:
            """A head, then a byte now and then until the test ends or we are left."""
            state.asked.append(self.path)
            self.send_response(200)
            self.send_header("Content-Length", "1000000")
            self.end_headers()
            with suppress(OSError):
                while not state.closing.wait(0.02):
                    self.wfile.write(b" ")
                    self.wfile.flush()

        def log_message(self, *arguments: object) -> None:
            """Stay quiet."""
            del arguments

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    thread = Thread(target=server.serve_forever, args=(0.01,), daemon=True)
    thread.start()
    yield state, f"http://127.0.0.1:{server.server_address[1]}"
    state.closing.set()
    server.shutdown()
    server.server_close()
    thread.join()


FARM = """
[farm]
name = "Coordinates only"
zone = "Australia/Melbourne"
latitude = -37.595
longitude = 142.305
elevation_m = 420

[weather]
kind = "open"
years = 3
contact = "{contact}"
open_meteo_url = "{base}"
met_norway_url = "{base}"
silo = false
silo_url = "{base}"

[labels.glyphosate]
label = "a test label"
confirmed = true
confirmed_by = "a test"
read_on = 2026-09-01
weeds = ["barley_grass"]
wind_min_kmh = 3
wind_max_kmh = 20
rain_free_hours = 6
inversion_restraint = true

[[paddock]]
name = "P"
hectares = 20
weeds = {{ barley_grass = 30 }}
actives = ["glyphosate"]
nothing_near = true
"""


@pytest.fixture
def farm(tmp_path: Path, service: tuple[Service, str]) -> Path:
    """A farm folder with nothing but coordinates, a label and a paddock."""
    folder = tmp_path / "farm"
    folder.mkdir()
    text = FARM.format(base=service[1], contact="ask@thornbill-rise.farm")
    (folder / "farm.toml").write_text(text, encoding="utf-8")
    return folder


@pytest.fixture
def silo_farm(farm: Path) -> Path:
    """The same farm, with SILO asked."""
    path = farm / "farm.toml"
    path.write_text(
        path.read_text("utf-8").replace("silo = false", "silo = true"), "utf-8"
    )
    return farm


class DayOf(Protocol):
    """Reads a farm at the service's own moment."""

    def __call__(self, folder: Path, *, offline: bool = False) -> FarmDay: ...


@pytest.fixture
def day_of(service: tuple[Service, str], monkeypatch: pytest.MonkeyPatch) -> DayOf:
    """The farm of a folder, its weather asked for or kept."""

    def read(folder: Path, *, offline: bool = False) -> FarmDay:
        monkeypatch.setattr(wiring, "utc_now", lambda: service[0].now)
        return wiring.farm_day(folder, None, None, offline=offline)[0]

    return read


class AddStation(Protocol):
    """Writes a station's hourly temperatures into a farm folder."""

    def __call__(self, folder: Path, rows: list[str]) -> None: ...


@pytest.fixture
def add_station() -> AddStation:
    """A station of ``time,t`` rows, with its confirmed mapping."""

    def write(folder: Path, rows: list[str]) -> None:
        table = "\n".join(["time,t", *rows]) + "\n"
        (folder / "station.csv").write_text(table, "utf-8")
        (folder / "station.toml").write_text(STATION, "utf-8")

    return write


STATION = """
[table]
file = "station.csv"
label = "start"
[time]
columns = ["time"]
format = "%Y-%m-%dT%H:%M:%S"
zone = "UTC"
[place]
latitude = -37.595
longitude = 142.305
elevation_m = 420
zone = "Australia/Melbourne"
[origin]
publisher = "the farm's station"
licence = "one's own"
[columns]
air_temperature = { column = "t", unit = "degC" }
"""
