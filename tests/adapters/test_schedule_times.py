"""When schedules strike, against the time-zone database and systemd's own calendar.

Dates of changes: IANA time-zone database, file *australasia* (see
``tests/domain/alerts/test_ticks.py``): 4 October 2026 and 4 April 2027 at 2:00
standard time, which is 16:00 UTC the day before in Melbourne; in Lord_Howe at 2:00
wall time, 15:30 and 15:00 UTC, by half an hour; in Auckland 26 September and 3 April,
14:00 UTC.
"""

from __future__ import annotations

import datetime as dt
import os
import re
import shutil
import subprocess
from dataclasses import replace
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from forecaster.errors import InternalError, UsageError
from forecaster.render.schedule_cron import cron_files
from forecaster.render.schedule_spec import ScheduleSpec
from forecaster.render.schedule_systemd import systemd_files
from forecaster.render.schedule_windows import windows_files
from forecaster.service.schedule_reading import strikes_of
from forecaster.service.schedule_times import (
    Strikes,
    clock_changes,
    elapses,
    latest_daily,
    prove_daily,
    prove_hourly,
)
from forecaster.service.schedules import make_schedule

ANALYZE = shutil.which("systemd-analyze")
NOW = np.datetime64("2026-08-20T03:00", "m")
END = np.datetime64("2027-08-20T03:00", "m")
HOURS = frozenset(range(24))
MAKERS = {"systemd": systemd_files, "cron": cron_files, "windows": windows_files}
ZONES = [
    "Australia/Melbourne",
    "Australia/Adelaide",
    "Australia/Hobart",
    "Australia/Lord_Howe",
    "Pacific/Auckland",
    "Australia/Brisbane",
    "Australia/Darwin",
    "Australia/Perth",
]
PUBLISHED = {
    "Australia/Melbourne": (("2026-10-03T16:00", 60), ("2027-04-03T16:00", -60)),
    "Australia/Adelaide": (("2026-10-03T16:30", 60), ("2027-04-03T16:30", -60)),
    "Australia/Hobart": (("2026-10-03T16:00", 60), ("2027-04-03T16:00", -60)),
    "Australia/Lord_Howe": (("2026-10-03T15:30", 30), ("2027-04-03T15:00", -30)),
    "Pacific/Auckland": (("2026-09-26T14:00", 60), ("2027-04-03T14:00", -60)),
    "Australia/Brisbane": (),
    "Australia/Darwin": (),
    "Australia/Perth": (),
}


def spec(system: str, zone: str, daily: dt.time | None = None) -> ScheduleSpec:
    """A schedule of a farm in that zone."""
    farm = "C:\\farm" if system == "windows" else "/farm"
    return ScheduleSpec(
        farm, (farm,), zone, daily, odd_change=zone == "Australia/Lord_Howe"
    )


@pytest.mark.parametrize("zone", ZONES)
def test_changes_of_the_clock_are_those_published(zone: str) -> None:
    """To the minute, and by how much."""
    found = tuple(
        (str(each.at), (each.after - each.before).astype(int))
        for each in clock_changes(zone, NOW, END)
    )
    assert found == PUBLISHED[zone]


@pytest.mark.parametrize("system", MAKERS)
@pytest.mark.parametrize("zone", ZONES)
def test_hourly_schedules_leave_no_gap_in_a_year(system: str, zone: str) -> None:
    """62 minutes at most, on whichever clock the scheduler goes by."""
    made = make_schedule(spec(system, zone), system, NOW)
    for what, most in (("check", 62), ("deliver", 6)):
        strikes = strikes_of(system, made.files, what, zone)
        for day, _ in PUBLISHED[zone]:
            start = np.datetime64(day, "m") - np.timedelta64(1, "D")
            assert np.diff(elapses(strikes, start)).max() <= np.timedelta64(most, "m")


@pytest.mark.parametrize(
    ("system", "zone"),
    [("systemd", zone) for zone in ZONES]
    + [(each, zone) for each in ("cron", "windows") for zone in ZONES[2:5]],
)
@pytest.mark.parametrize("at", [dt.time(4, 0), dt.time(23, 59)])
def test_daily_schedules_strike_once_each_day_at_their_local_time(
    system: str, zone: str, at: dt.time
) -> None:
    """Days and times as the standard library gives them, over 400 days."""
    made = make_schedule(spec(system, zone, at), system, NOW)
    times = elapses(strikes_of(system, made.files, "check", zone), NOW)
    local = [
        dt.datetime.fromtimestamp(int(each.astype(int)) * 60, ZoneInfo(zone))
        for each in times
    ]
    assert {each.time() for each in local} == {at}
    days = [each.date().toordinal() for each in local]
    assert days == list(range(days[0], days[0] + 400))


def test_an_hourly_time_on_a_clock_of_half_hours_is_found_out() -> None:
    """Lord_Howe: 1:07 is followed by 3:07 when 2:00 becomes 2:30, 90 minutes on."""
    alone = Strikes(frozenset({7}), HOURS, "Australia/Lord_Howe")
    with pytest.raises(InternalError, match="90 minutes without a check"):
        prove_hourly(alone, "Australia/Lord_Howe", NOW)
    prove_hourly(
        Strikes(frozenset({7, 37}), HOURS, "Australia/Lord_Howe"),
        "Australia/Lord_Howe",
        NOW,
    )


def test_a_daily_time_that_a_change_leaves_out_is_found_out() -> None:
    """2:30 in Melbourne: not there on 4 October 2026, twice on 4 April 2027."""
    at = Strikes(frozenset({30}), frozenset({2}), "Australia/Melbourne")
    with pytest.raises(InternalError, match="not at all on the day after 2026-10-03"):
        prove_daily(at, "Australia/Melbourne", NOW)
    with pytest.raises(InternalError, match="twice on 2027-04-04"):
        prove_daily(at, "Australia/Melbourne", np.datetime64("2026-12-01T00:00", "m"))
    prove_daily(
        Strikes(frozenset({30}), frozenset({2}), "Australia/Perth"),
        "Australia/Perth",
        NOW,
    )


@pytest.mark.parametrize("system", MAKERS)
def test_files_that_cannot_be_read_back_are_not_believed(system: str) -> None:
    """A schedule nobody can prove is not handed out."""
    with pytest.raises(InternalError, match="cannot be read back"):
        strikes_of(system, {"x-check.timer": "", "x-check.xml": ""}, "check", "UTC")
    with pytest.raises(InternalError, match="cannot be read back"):
        strikes_of(system, {}, "check", "UTC")


def test_an_unknown_scheduler_is_refused() -> None:
    """With those there are."""
    with pytest.raises(UsageError, match="allowed is systemd or cron or windows"):
        make_schedule(spec("cron", "Australia/Perth"), "launchd", NOW)


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("at", [dt.time(4, 0), dt.time(23, 59)])
def test_the_last_daily_moment_is_the_one_the_standard_library_gives(
    zone: str, at: dt.time
) -> None:
    """Every 7 hours through days of changes: the newest such wall time gone by."""
    where = ZoneInfo(zone)
    for day in ("2026-09-26", "2026-10-03", "2027-04-03"):
        start = np.datetime64(day, "m") - np.timedelta64(1, "D")
        for now in np.arange(
            start, start + np.timedelta64(4, "D"), np.timedelta64(7, "h")
        ):
            here = dt.datetime.fromtimestamp(int(now.astype(int)) * 60, where)
            candidates = [
                int(
                    dt.datetime.combine(
                        here.date() + dt.timedelta(days=back), at, tzinfo=where
                    ).timestamp()
                )
                for back in (-2, -1, 0, 1)
            ]
            expected = max(each for each in candidates if each <= here.timestamp())
            found = latest_daily(now.astype("datetime64[s]"), zone, at)
            assert int(found.astype(int)) == expected


def systemd_elapses(calendar: str, base: str) -> list[np.datetime64]:
    """The next 400 strikes by systemd's own reckoning."""
    done = subprocess.run(
        [
            str(ANALYZE),
            "calendar",
            "--iterations=400",
            f"--base-time={base} UTC",
            calendar,
        ],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "TZ": "UTC", "LC_ALL": "C"},
    )
    found = re.findall(
        r"(?:Next elapse|Iter\. #\d+|\(in UTC\)): \w+ (\S+) (\S+) UTC", done.stdout
    )
    moments = {np.datetime64(f"{day}T{time}", "m") for day, time in found}
    return sorted(moments)


@pytest.mark.skipif(ANALYZE is None, reason="no systemd here")
@pytest.mark.parametrize("zone", ["Australia/Melbourne", "Australia/Lord_Howe"])
@pytest.mark.parametrize("base", ["2026-09-25 03:00:00", "2027-03-26 03:00:00"])
@pytest.mark.parametrize("at", [None, dt.time(5, 30)])
def test_systemd_reckons_as_we_do(zone: str, base: str, at: dt.time | None) -> None:
    """400 strikes from before each change, hourly and daily."""
    files = systemd_files(spec("systemd", zone, at))
    (timer,) = [text for name, text in files.items() if name.endswith("check.timer")]
    (calendar,) = re.findall(r"^OnCalendar=(.*)$", timer, re.MULTILINE)
    theirs = systemd_elapses(calendar, base)
    ours = elapses(
        strikes_of("systemd", files, "check", zone),
        np.datetime64(base.replace(" ", "T"), "m"),
    )
    assert len(theirs) == 400
    assert theirs == list(ours)
    widest = np.diff(np.array(theirs)).max()
    assert widest <= np.timedelta64(62 if at is None else 25 * 60, "m")


@pytest.mark.skipif(ANALYZE is None, reason="no systemd here")
def test_systemd_would_lose_an_hour_on_a_local_clock() -> None:
    """Why hourly timers are in UTC: its 252 leaves one out on 4 April 2027.

    The test above could not fail if it did not.
    """
    local = systemd_elapses("*-*-* *:07:00 Australia/Melbourne", "2027-03-26 03:00:00")
    assert np.diff(np.array(local)).max() > np.timedelta64(62, "m")


def test_the_odd_change_is_what_makes_cron_strike_twice_an_hour() -> None:
    """Only where minutes of the hour move."""
    (table,) = cron_files(spec("cron", "Australia/Lord_Howe")).values()
    assert "\n7,37 * * * * " in table
    (table,) = cron_files(
        replace(spec("cron", "Australia/Lord_Howe"), odd_change=False)
    ).values()
    assert "\n7 * * * * " in table
