"""``forecaster run``: checks by the clock, one at a time, and an end within seconds.

A stand-in takes the place of the real check: it writes down its arguments.
"""

from __future__ import annotations

import datetime as dt
import os
import signal
import subprocess
import sys
import time
from typing import TYPE_CHECKING

import numpy as np
import pytest

from forecaster.errors import InputMissingError, SettingsError, UsageError
from forecaster.service.children import Children
from forecaster.service.keep_running import (
    Routine,
    _scheduler,
    _wake,
    keep_running,
    routines,
)
from forecaster.service.moments import as_utc
from forecaster.service.new_farm import make

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

STAND_IN = """
import sys, time
with open(sys.argv[1], "a", encoding="utf-8") as log:
    print(*sys.argv[2:], sep="|", file=log)
if "hang" in sys.argv[2:]:
    time.sleep(60)
sys.exit(int(sys.argv[-1]) if sys.argv[-1].isdigit() else 0)
"""
START = np.datetime64("2026-10-03T15:50:00", "s")


@pytest.fixture
def log(tmp_path: Path) -> Path:
    """Where the stand-in writes."""
    return tmp_path / "log"


@pytest.fixture
def stand_in(tmp_path: Path, log: Path) -> Callable[..., tuple[str, ...]]:
    """Words that start the stand-in with more words."""
    script = tmp_path / "stand_in.py"
    script.write_text(STAND_IN, encoding="utf-8")

    def command(*more: str) -> tuple[str, ...]:
        return (sys.executable, str(script), str(log), *more)

    return command


def lines(log: Path) -> list[str]:
    """What the stand-in wrote."""
    return log.read_text(encoding="utf-8").splitlines() if log.exists() else []


def until(what: Callable[[], object], seconds: float = 20.0) -> None:
    """Wait for something to be so."""
    end = time.monotonic() + seconds
    while not what():
        assert time.monotonic() < end, "it never came"
        time.sleep(0.05)


def always(now: np.datetime64) -> np.datetime64:
    """A strike at every moment: due at each look that is not in the same second."""
    return now


def test_a_farm_has_a_check_and_a_delivery(
    tmp_path: Path, stand_in: Callable[..., tuple[str, ...]], log: Path
) -> None:
    """Each is started as the command line says, and when it is due."""
    farm = make(tmp_path / "my farm", None, "My farm").parent.resolve()
    now = START
    check, deliver = routines([farm, farm], stand_in(), lambda: START)
    children, told = Children(20), list[str]()
    for minute in range(13):
        now = START + np.timedelta64(minute * 60, "s")
        for each in (check, deliver):
            each.look(now, children, told.append)
    base = f"check|--farm|{farm}"
    # 15:50 the first; 15:55 and 16:00 deliveries; minute 7 is not reached.
    assert lines(log) == [base, f"{base}|--deliver", f"{base}|--deliver"]
    for minute in range(13, 19):
        now = START + np.timedelta64(minute * 60, "s")
        for each in (check, deliver):
            each.look(now, children, told.append)
    assert lines(log)[3:] == [f"{base}|--deliver", base]
    assert not told


def test_a_farm_that_checks_once_a_day_does_so_at_its_local_time(
    tmp_path: Path, stand_in: Callable[..., tuple[str, ...]], log: Path
) -> None:
    """05:30 in Melbourne is 18:30 UTC from 4 October 2026 on (time-zone database)."""
    file = make(tmp_path / "farm", None, "My farm")
    text = file.read_text(encoding="utf-8")
    daily = '[alerts]\ncheck = "daily"\ndigest_at = 05:30:00\n\n[farm]'
    file.write_text(text.replace("[farm]", daily, 1), encoding="utf-8")
    check, _ = routines([file.parent], stand_in(), lambda: START)
    assert check.strike(START) == np.datetime64("2026-10-02T19:30", "s")
    day = np.timedelta64(1, "D")
    assert check.strike(START + day) == np.datetime64("2026-10-03T18:30", "s")
    early = text.replace("[farm]", daily.replace("05:30", "02:30"), 1)
    file.write_text(early, encoding="utf-8")
    with pytest.raises(UsageError, match="04:00 to 23:59"):
        routines([file.parent], stand_in(), lambda: START)
    assert not lines(log)


def test_a_farm_that_is_not_there_is_told_at_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Not an hour later, by a check that fails; nor is the demo run for ever."""
    monkeypatch.chdir(tmp_path)
    with pytest.raises(UsageError, match="forecaster run needs a farm of your own"):
        routines(None)
    with pytest.raises(InputMissingError, match="no such file"):
        routines([tmp_path / "away"])
    (tmp_path / "farm.toml").write_text("[farm]\n", encoding="utf-8")
    with pytest.raises(SettingsError):
        routines(None)


def test_what_goes_wrong_is_told_and_nothing_stops(
    stand_in: Callable[..., tuple[str, ...]], tmp_path: Path
) -> None:
    """An exit code, a program that is not there, one that hangs."""
    children = Children(20)
    assert children.run(stand_in("0")) == ""
    assert children.run(stand_in("78")) == "ended with code 78"
    away = children.run((str(tmp_path / "away"),))
    assert away.startswith("could not be started (")
    hung = Children(0.3)
    assert hung.run(stand_in("hang")) == "did not end within 0 s and was stopped"


@pytest.mark.skipif(os.name != "posix", reason="Windows ends a program at once")
def test_a_program_that_will_not_end_is_made_to(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """It ignores the request; after a while it is not asked any more."""
    monkeypatch.setattr("forecaster.service.children.GRACE_S", 0.2)
    stubborn = "import signal, time; signal.signal(15, signal.SIG_IGN); time.sleep(60)"
    begun = time.monotonic()
    said = Children(0.6).run((sys.executable, "-c", stubborn))
    assert said == "did not end within 1 s and was stopped"
    assert time.monotonic() - begun < 30


def test_a_check_that_hangs_keeps_no_other_from_running(
    stand_in: Callable[..., tuple[str, ...]], log: Path
) -> None:
    """It is stopped after its time and comes again; another farm goes on meanwhile."""
    children, told = Children(1.5), list[str]()
    looks = [0]

    def clock() -> np.datetime64:
        looks[0] += 1  # each look is an hour after the last: always due
        return START + np.timedelta64(looks[0], "h")

    both = (
        Routine("the check of a", stand_in("a", "hang"), always),
        Routine("the check of b", stand_in("b"), always),
    )
    scheduler = _scheduler(both, children, told.append, 0.2, clock)
    try:
        until(lambda: lines(log).count("a|hang") >= 2)
        between = lines(log)
        assert between[: between.index("a|hang") + 4].count("b") >= 2
        assert "the check of a did not end within 2 s and was stopped" in told
    finally:
        children.stop()
        scheduler.shutdown()


def test_looks_put_off_by_a_clock_set_back_are_brought_forward() -> None:
    """Else the scheduler would sleep for as long as the clock was set back."""
    children = Children(1)
    looked: list[np.datetime64] = []

    class Watch(Routine):
        """Notes when it is looked at."""

        def look(self, now: np.datetime64, *_: object) -> None:
            """No program."""
            looked.append(now)

    routine = Watch("it", (), always)
    scheduler = _scheduler((routine,), children, print, 0.2, lambda: START)
    try:
        until(lambda: looked)
        (job,) = scheduler.get_jobs()
        # The true clock is an hour behind what the scheduler planned by.
        behind = as_utc(job.next_run_time) - np.timedelta64(1, "h")
        scheduler.pause()
        _wake(scheduler, behind, 0.2)
        (job,) = scheduler.get_jobs()
        assert as_utc(job.next_run_time) == behind
        # A plan in the past, as after a clock set forward, is left as it is.
        _wake(scheduler, behind + np.timedelta64(1, "D"), 0.2)
        (job,) = scheduler.get_jobs()
        assert as_utc(job.next_run_time) == behind
    finally:
        scheduler.resume()
        scheduler.shutdown()


def test_after_a_long_sleep_looks_do_not_pile_up() -> None:
    """From 1970 to 2026: one look, not one for each half minute between."""
    first = np.datetime64("1970-01-01T00:00:10", "s")
    routine = Routine("it", (), lambda now: now, last=first)
    scheduler = _scheduler((routine,), Children(1), print, 600, lambda: first)
    try:
        scheduler.pause()
        (job,) = scheduler.get_jobs()
        then = dt.datetime(1970, 1, 1, tzinfo=dt.UTC)
        job.modify(next_run_time=then)
        later = dt.datetime(2026, 10, 4, tzinfo=dt.UTC)
        assert job._get_run_times(later) == [then]
    finally:
        scheduler.shutdown()


RUNNER = """
import sys
from forecaster.service.keep_running import Routine, keep_running
told = lambda line: print(line, file=sys.stderr)
whole = lambda now: now
sys.exit(keep_running([Routine("it", tuple(sys.argv[1:]), whole)], told, look_s=0.2))
"""


@pytest.mark.parametrize(
    ("name", "code"),
    [("SIGINT", 130), ("SIGTERM", 143)],
)
@pytest.mark.skipif(os.name != "posix", reason="Windows has no such signals to send")
def test_a_signal_ends_it_and_what_it_runs(
    name: str, code: int, stand_in: Callable[..., tuple[str, ...]], log: Path
) -> None:
    """128 and the number of the signal; the check that hangs goes too."""
    command = [sys.executable, "-c", RUNNER, *stand_in("hang")]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, start_new_session=True
    ) as running:
        try:
            until(lambda: lines(log))
            running.send_signal(getattr(signal, name))
            said = running.communicate(timeout=20)
        finally:
            running.kill()
    assert running.returncode == code
    assert said == (b"", b"")
    assert lines(log) == ["hang"]


@pytest.mark.skipif(os.name != "posix", reason="raises a signal in this process")
def test_output_of_a_check_is_passed_through(
    capfd: pytest.CaptureFixture[str],
) -> None:
    """Both streams; and signals do again what they did before."""
    told: list[str] = []
    before = signal.getsignal(signal.SIGTERM)
    words = (
        "import os, signal, sys; print('all well', flush=True);"
        "print('a word', file=sys.stderr, flush=True);"
        "os.kill(os.getppid(), signal.SIGTERM)"
    )
    routine = Routine("it", (sys.executable, "-c", words), always)
    assert keep_running([routine], told.append, look_s=30) == 143
    assert capfd.readouterr() == ("all well\n", "a word\n")
    assert signal.getsignal(signal.SIGTERM) is before
    assert not told


@pytest.mark.skipif(os.name != "posix", reason="Windows has no hang-up")
def test_a_signal_that_is_passed_over_stays_so() -> None:
    """Under nohup a log-out must not end it: POSIX, nohup ignores SIGHUP."""
    before = signal.signal(signal.SIGHUP, signal.SIG_IGN)
    try:
        words = (
            "import os, signal, time; os.kill(os.getppid(), signal.SIGHUP);"
            "time.sleep(0.3); os.kill(os.getppid(), signal.SIGTERM)"
        )
        routine = Routine("it", (sys.executable, "-c", words), always)
        assert keep_running([routine], print, look_s=30) == 143
        assert signal.getsignal(signal.SIGHUP) is signal.SIG_IGN
    finally:
        signal.signal(signal.SIGHUP, before)


def test_nothing_is_started_once_it_is_ending(
    stand_in: Callable[..., tuple[str, ...]], log: Path
) -> None:
    """A look that was under way when the end came."""
    children = Children(5)
    children.stop()
    assert children.run(stand_in("late")) == ""
    assert not lines(log)


@pytest.mark.skipif(os.name != "posix", reason="sends a signal")
def test_the_command_runs_the_real_check_until_it_is_stopped(tmp_path: Path) -> None:
    """A new farm: its first check is kept within the minute, then Ctrl-C."""
    farm = make(tmp_path / "farm", None, "My farm").parent
    command = [sys.executable, "-m", "forecaster", "run", "--farm", str(farm)]
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT
    ) as running:
        try:
            assert running.stdout is not None
            done = next(each for each in running.stdout if each[:6] == b"check ")
            running.send_signal(signal.SIGINT)
            running.wait(20)
        finally:
            running.kill()
    assert done.startswith(b"check 1: ")
    assert running.returncode == 130
    assert (farm / ".alerts" / "state.sqlite").is_file()
