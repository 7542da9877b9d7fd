"""Checks by the clock for as long as this program runs.

A scheduler looks at the clock twice a minute; whether anything is due is not left to
it but to ``domain.alerts.ticks``, and what a check has to make good to the check.
"""

from __future__ import annotations

import logging
import signal
import time
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from forecaster.domain.alerts.ticks import CHECK, DELIVER, due, latest, overslept
from forecaster.service.children import Children
from forecaster.service.clock import utc_now
from forecaster.service.moments import as_utc
from forecaster.service.program import own_command, own_farm
from forecaster.service.schedule_times import latest_daily
from forecaster.service.schedules import daily_time
from forecaster.settings.farm import load_farm

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Iterator, Sequence
    from pathlib import Path
    from types import FrameType
    from typing import Any

    import numpy as np

    Clock = Callable[[], np.datetime64]
    Tell = Callable[[str], None]

LOOK_S = 30.0
"""[s] Between two looks at the clock."""
MOST_S = 600.0
"""[s] A check may take."""
_NAP_S = 0.5
_SIGNALS = ("SIGINT", "SIGTERM", "SIGHUP", "SIGBREAK")
"""Those this system has."""


@dataclass(slots=True)
class Routine:
    """A command that is run again and again."""

    what: str
    command: tuple[str, ...]
    strike: Callable[[np.datetime64], np.datetime64]
    """The last moment up to a given one at which it should run, both UTC."""
    last: np.datetime64 | None = None
    """When it last started; None: it is due at once."""

    def look(self, now: np.datetime64, children: Children, tell: Tell) -> None:
        """Run it if it is due, and say what went wrong."""
        if not due(now, self.last, self.strike(now)):
            return
        self.last = now
        fault = children.run(self.command)
        if fault:
            tell(f"{self.what} {fault}")


def routines(
    folders: Sequence[Path] | None,
    program: tuple[str, ...] | None = None,
    clock: Clock = utc_now,
) -> tuple[Routine, ...]:
    """A check and a delivery for each farm; without folders for the one here.

    ``program`` are the words that start the program: by default this one.

    Raises
    ------
    ForecasterError
        If a farm is not there, or its settings are wrong.
    """
    found = [own_farm(each, "run") for each in folders or (None,)]
    made: list[Routine] = []
    for folder in dict.fromkeys(found):
        at, zone = daily_time(farm := load_farm(folder)), farm.place.zone
        check = (*(program or own_command()), "check", "--farm", str(folder))
        made += [
            Routine(f"the check of {folder}", check, _strike(at, zone)),
            # The first check hands over what is due itself.
            Routine(
                f"the delivery of {folder}",
                (*check, "--deliver"),
                lambda now: latest(now, DELIVER),
                last=clock(),
            ),
        ]
    return tuple(made)


def _strike(at: dt.time | None, zone: str) -> Callable[[np.datetime64], np.datetime64]:
    if at is None:
        return lambda now: latest(now, CHECK)
    return lambda now: latest_daily(now, zone, at)


def keep_running(
    routines: Sequence[Routine],
    tell: Tell,
    *,
    most_s: float = MOST_S,
    look_s: float = LOOK_S,
    clock: Clock = utc_now,
) -> int:
    """Run the routines by the clock until a signal ends it; the exit code, 128 + it.

    A program that hangs is stopped after ``most_s``; others go on meanwhile.
    """
    children = Children(most_s)
    with _listening() as heard:
        scheduler = _scheduler(routines, children, tell, look_s, clock)
        try:
            while not heard:
                time.sleep(_NAP_S)
                _wake(scheduler, clock(), look_s)
        finally:
            children.stop()
            scheduler.shutdown()
    return 128 + heard[0]


@contextmanager
def _listening() -> Iterator[list[int]]:
    """Signals that ask to end, as they come; each does what it did before after.

    One that is passed over, such as the hang-up under ``nohup``, stays so.
    """
    heard: list[int] = []

    def hear(number: int, frame: FrameType | None) -> None:
        del frame
        heard.append(number)

    numbers = [getattr(signal, name) for name in _SIGNALS if hasattr(signal, name)]
    before = {
        number: signal.signal(number, hear)
        for number in numbers
        if signal.getsignal(number) not in {signal.SIG_IGN, None}
    }
    try:
        yield heard
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def _scheduler(
    routines: Sequence[Routine],
    children: Children,
    tell: Tell,
    look_s: float,
    clock: Clock,
) -> Any:
    """Looks at the clock for each routine; one that still runs is not started."""
    import datetime as dt

    from apscheduler.executors.pool import ThreadPoolExecutor
    from apscheduler.schedulers.background import BackgroundScheduler
    from apscheduler.triggers.base import BaseTrigger

    class Looks(BaseTrigger):  # type: ignore[misc]  # the library has no types
        """One after another; a clock that jumped ahead leaves none to make good."""

        def get_next_fire_time(
            self, previous: dt.datetime | None, now: dt.datetime
        ) -> dt.datetime:
            del previous
            return now + dt.timedelta(seconds=look_s)

    # A look that is left out because the last one still runs is no news.
    logging.getLogger("apscheduler").setLevel(logging.ERROR)
    scheduler = BackgroundScheduler(
        timezone=dt.UTC,
        executors={"default": ThreadPoolExecutor(max(1, len(routines)))},
        job_defaults={
            "coalesce": True,
            "max_instances": 1,
            "misfire_grace_time": None,
        },
    )
    now = _aware(clock())
    for routine in routines:
        scheduler.add_job(
            partial(_look, routine, clock, children, tell), Looks(), next_run_time=now
        )
    scheduler.start()
    return scheduler


def _look(routine: Routine, clock: Clock, children: Children, tell: Tell) -> None:
    routine.look(clock(), children, tell)


def _wake(scheduler: Any, now: np.datetime64, look_s: float) -> None:
    """Bring looks forward that a clock set back has put off."""
    for job in scheduler.get_jobs():
        planned = job.next_run_time
        if planned is not None and overslept(as_utc(planned), now, look_s):
            job.modify(next_run_time=_aware(now))


def _aware(moment: np.datetime64) -> dt.datetime:
    """UTC ``datetime64`` as an aware datetime."""
    import datetime as dt

    return dt.datetime.fromtimestamp(
        int(moment.astype("datetime64[s]").astype("int64")), tz=dt.UTC
    )
