"""Spoiled answers: each is refused in words or gives a table that holds the rules.

``FORECASTER_MUTANTS`` sets how many spoiled answers of each product are tried.
"""

from __future__ import annotations

import json
import os
from collections import Counter
from copy import deepcopy
from random import Random
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from forecaster.domain.weather import HOUR, QUANTITIES, WeatherFrame
from forecaster.errors import SourceError
from forecaster.sources.days_table import DAY_RAIN
from forecaster.sources.ranges import RANGES

if TYPE_CHECKING:
    from collections.abc import Callable

    from forecaster.sources.request import ModelRun, Parsed
    from tests.adapters.services.conftest import Case

LONGEST_MESSAGE = 700
MUTANTS = int(os.environ.get("FORECASTER_MUTANTS", "200"))
HOURS = {"forecast": 74, "profile": 50, "ensemble": 50, "previous": 118, "archive": 120}
JSON = (*HOURS, "metno", "status")
STRANGE: list[Any] = [
    None, True, False, "", "12.5", "NaN", [], {}, [None], {"a": 1}, 0, -0.0, -1, 99.9,
    -99.9, 9999, -9999, 1e308, 10**40, 273.15, 1e-300, 101, 60.0,
]  # fmt: skip
UNITS: list[str | None] = [
    "°C", "°F", "%", "hPa", "Pa", "m/s", "km/h", "mp/h", "mm", "inch", "°", "",
    "undefined", "W/m²", "celsius", "degrees", "iso8601", "unixtime", None,
]  # fmt: skip
TOKENS = ["NaN", "Infinity", "-Infinity", "1e999", "-1e999", "01", "1_0", "9" * 5000]


def spots(node: Any) -> list[tuple[Any, Any]]:
    """Every (container, key) below a node."""
    found: list[tuple[Any, Any]] = []
    waiting = [node]
    while waiting:
        inner = waiting.pop()
        keys = list(inner) if isinstance(inner, dict) else range(len(inner))
        for key in keys:
            found.append((inner, key))
            if isinstance(inner[key], (dict, list)):
                waiting.append(inner[key])
    return found


def spot(document: Any, random: Random) -> tuple[Any, Any]:
    """One place, by going down at random so that small blocks are met often too."""
    inner = document
    while True:
        keys = list(inner) if isinstance(inner, dict) else list(range(len(inner)))
        if not keys:
            return document, next(iter(document), None)
        key = random.choice(keys)
        if not isinstance(inner[key], (dict, list)) or random.random() < 0.2:
            return inner, key
        inner = inner[key]


def drop(document: Any, random: Random) -> None:
    """Leave a member or item out."""
    inner, key = spot(document, random)
    del inner[key]


def double(document: Any, random: Random) -> None:
    """An item twice, or a value under a second name."""
    inner, key = spot(document, random)
    if isinstance(inner, list):
        inner.insert(key, inner[key])
    else:
        inner[f"{key}_member{random.randrange(9):02d}"] = inner[key]


def replace(document: Any, random: Random) -> None:
    """Another type, or a number that cannot be."""
    inner, key = spot(document, random)
    inner[key] = deepcopy(random.choice(STRANGE))


def scale(document: Any, random: Random) -> None:
    """A whole list in another unit."""
    inner, key = spot(document, random)
    lists = inner[key] if isinstance(inner[key], list) else inner
    factor, shift = random.choice([(1.8, 32), (1, 273.15), (3.6, 0), (0, 0), (-1, 0)])
    if isinstance(lists, list):
        lists[:] = [
            each * factor + shift if type(each) in {int, float} else each
            for each in lists
        ]


def units(document: Any, random: Random) -> None:
    """Another unit."""
    block = document
    path = ["hourly_units"] if "hourly" in document else ["properties", "meta", "units"]
    for name in path:
        block = block.get(name) if isinstance(block, dict) else None
    if isinstance(block, dict) and block:
        block[random.choice(list(block))] = random.choice(UNITS)


def nulls(document: Any, random: Random) -> None:
    """A run of nulls in a list, or a null."""
    inner, key = spot(document, random)
    if isinstance(inner, list):
        count = random.choice([1, 3, 8, 40])
        inner[key : key + count] = [None] * len(inner[key : key + count])
    else:
        inner[key] = None


def reorder(document: Any, random: Random) -> None:
    """Two items change places, or a whole list turns round."""
    inner, key = spot(document, random)
    if isinstance(inner, list):
        other = random.randrange(len(inner))
        if random.random() < 0.2:
            inner.reverse()
        inner[key], inner[other] = inner[other], inner[key]


def nest(document: Any, random: Random) -> None:
    """A value inside brackets."""
    inner, key = spot(document, random)
    for _ in range(random.choice([1, 2, 50, 200])):
        inner[key] = [inner[key]]


TREE: list[Callable[[Any, Random], None]] = [
    drop, double, replace, scale, units, nulls, reorder, nest,
]  # fmt: skip


def token(body: bytes, random: Random) -> bytes:
    """A bare token before or instead of a number."""
    at = body.find(random.choice([b":", b","]), random.randrange(max(len(body), 1)))
    word = random.choice(TOKENS).encode()
    end = min(
        (each for mark in b",]}" if (each := body.find(mark, at + 1)) > 0),
        default=len(body),
    )
    return body[: at + 1] + word + body[end:]


def again(body: bytes, random: Random) -> bytes:
    """A member twice in one object."""
    at = random.choice([i for i, each in enumerate(body) if each == ord("{")] or [0])
    return body[: at + 1] + b'"time":1,"time":2,' + body[at + 1 :]


def cut(body: bytes, random: Random) -> bytes:
    """A piece is lost."""
    first, last = sorted(random.randrange(len(body) + 1) for _ in "ab")
    return body[:first] + body[last if random.random() < 0.5 else first + 1 :]


def flip(body: bytes, random: Random) -> bytes:
    """A byte is another one."""
    at = random.randrange(max(len(body), 1))
    return body[:at] + bytes([random.randrange(256)]) + body[at + 1 :]


def repeat(body: bytes, random: Random) -> bytes:
    """A line or piece stands twice."""
    lines = body.splitlines(keepends=True)
    at = random.randrange(max(len(lines), 1))
    return b"".join(lines[:at] + lines[at : at + 1] + lines[at:])


def cell(body: bytes, random: Random) -> bytes:
    """A cell of a CSV is another text, gone, or another one's."""
    rows = [line.split(b",") for line in body.split(b"\n")]
    row = random.choice(rows)
    at = random.randrange(len(row))
    texts = [b"", b"-99.9", b"75", b"25", b"nan", b"1e9", b'"', b"2026-09-03", b"60.0"]
    row[at] = random.choice([*texts, random.choice(row)])
    if random.random() < 0.1:
        del row[at]
    return b"\n".join(b",".join(each) for each in rows)


TEXT: list[Callable[[bytes, Random], bytes]] = [token, again, cut, flip, repeat]
CSV: list[Callable[[bytes, Random], bytes]] = [cell, cell, cell, cut, flip, repeat]

SPOILS = st.lists(
    st.tuples(st.integers(0, 99), st.integers(0, 2**32 - 1)), min_size=1, max_size=4
)


def spoiled(body: bytes, spoils: list[tuple[int, int]], *, table: bool) -> bytes:
    """The answer after all spoils, those of the tree before those of the text."""
    if not table:
        document = json.loads(body)
        for kind, seed in spoils:
            if kind < 80 and document:
                TREE[kind % len(TREE)](document, Random(seed))
        body = json.dumps(document, ensure_ascii=False).encode()
    choices = CSV if table else TEXT
    for kind, seed in spoils:
        if table or kind >= 80:
            body = choices[kind % len(choices)](body, Random(seed))
    return body


def holds(frame: WeatherFrame) -> None:
    """What every accepted table is: hourly, of equal lengths, physical or NaN."""
    assert len(frame) > 0
    assert frame.time.dtype == np.dtype("datetime64[s]")
    assert (np.diff(frame.time) == HOUR).all()
    assert (frame.time.astype(np.int64) % 3600 == 0).all()
    assert (frame.native_step >= 1).all()
    for name in QUANTITIES:
        values = getattr(frame, name)
        assert values.shape[-1] == len(frame)
        assert not np.isinf(values).any()
        assert not RANGES[name].outside(values).any(), name
    assert not (frame.relative_humidity > 100).any()


def no_zero_for_nothing(body: bytes, parsed: Parsed, ending: str = "") -> None:
    """A null is NaN, and a known value is the one sent under its label."""
    frame = parsed.frame
    assert frame is not None
    hourly = json.loads(body.decode("utf-8-sig"))["hourly"]
    for theirs, ours, back in (
        ("temperature_2m", "air_temperature", 0),
        ("precipitation", "rain", 1),
    ):
        sent = hourly.get(theirs + ending)
        if sent is None:
            continue
        values = np.array(sent, dtype=np.float64)[back : len(frame)]
        read = getattr(frame, ours)
        read = (read[0] if read.ndim > 1 else read)[: values.size]
        known = ~np.isnan(read)
        np.testing.assert_array_equal(read[known], values[known])


def begun_and_served(run: ModelRun, made: np.datetime64) -> None:
    """A run began on a whole hour before now and was served since; none is ahead."""
    assert run.began.astype(np.int64) % 3600 == 0
    assert made - np.timedelta64(16, "D") <= run.began <= made
    assert run.began <= run.served <= made + HOUR
    assert np.timedelta64(0, "s") < run.every <= np.timedelta64(1, "D")


def answer(cases: dict[str, Case], product: str) -> bytes:
    """A good answer, short so that many can be tried."""
    case = cases[product]
    if product in HOURS:
        document = case.first_hours(HOURS[product])
    elif product == "metno":
        document = case.document
        document["properties"]["timeseries"][20:50] = []
        for at, step in enumerate(document["properties"]["timeseries"]):
            hours = at if at < 29 else 29 + 6 * (at - 29)
            time = np.datetime64("2026-09-14T20:00:00") + hours * HOUR
            step["time"] = f"{time}Z"
        del document["properties"]["timeseries"][40:]
    else:
        return case.body
    return json.dumps(document, ensure_ascii=False).encode()


@pytest.mark.parametrize("product", [*JSON, "silo", "silo short"])
def test_a_spoiled_answer_is_refused_or_holds_the_rules(
    cases: dict[str, Case], product: str
) -> None:
    """No exception but ours, no table that breaks a rule, no zero for nothing."""
    case, good = cases[product], answer(cases, product)
    case.read(good)
    table = product.startswith("silo")
    seen: Counter[str] = Counter()
    said: set[str] = set()

    @settings(
        max_examples=MUTANTS,
        deadline=None,
        database=None,
        suppress_health_check=list(HealthCheck),
    )
    @given(SPOILS)
    def attempt(spoils: list[tuple[int, int]]) -> None:
        body = spoiled(good, spoils, table=table)
        try:
            parsed = case.read(body)
        except SourceError as error:
            said.add(str(error))
            seen["refused"] += 1
            return
        seen["accepted"] += 1
        for frame in (parsed.frame, *parsed.leads.values()):
            if frame is not None:
                holds(frame)
        if parsed.days is not None:
            days = parsed.days
            assert (np.diff(days.day) == np.timedelta64(1, "D")).all()
            assert not RANGES["air_temperature"].outside(days.tmax).any()
            assert not RANGES["air_temperature"].outside(days.tmin).any()
            assert not DAY_RAIN.outside(days.rain).any()
            assert not (days.tmin > days.tmax).any()
        if parsed.run is not None:
            begun_and_served(parsed.run, case.request.made)
        if product in HOURS and parsed.frame is not None:
            no_zero_for_nothing(body, parsed)

    attempt()
    print(f"{product}: {dict(seen)}")  # noqa: T201 the long run's report
    assert all(each.isprintable() and len(each) < LONGEST_MESSAGE for each in said)
    assert seen["accepted"] > MUTANTS // 50
    assert seen["refused"] > MUTANTS // 50
