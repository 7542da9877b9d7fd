"""A check of one farm folder: its lock, its state, its channels, its heartbeat."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from forecaster.domain.alerts.phases import hours
from forecaster.errors import (
    BusyError,
    ForecasterError,
    NewerStateError,
    StateError,
)
from forecaster.notify.channels import channels_of, heartbeat_of
from forecaster.service.alerts.check import Check, Result
from forecaster.service.alerts.emergency import cry_out
from forecaster.service.alerts.last_files import Files, read_files
from forecaster.service.alerts.log import Log
from forecaster.service.alerts.post import Post
from forecaster.service.alerts.sight import blind, look
from forecaster.store.ledger import Ledger
from forecaster.store.one_check import alone

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    import numpy as np

    from forecaster.service.alerts.sight import Sight
    from forecaster.settings.farm import Farm

FOLDER = ".alerts"
"""Inside the farm folder: what is kept, the lock, backups, the log."""
STUCK_H = 0.25
"""A check that another one waits for longer than this is stuck."""
BUSY, STUCK = 0, 75


def check_farm(
    folder: Path,
    clock: Callable[[], np.datetime64],
    *,
    offline: bool = False,
    see: Callable[[Farm, np.datetime64], Sight] | None = None,
) -> Result:
    """One check of the farm in ``folder``.

    Raises
    ------
    ForecasterError
        If the farm file is wrong, or nothing can be kept.
    """
    files = read_files(folder, folder / FOLDER, clock())
    farm = files.farm
    log = Log(farm.folder / FOLDER, clock())
    looking = partial(see or partial(look, offline=offline), farm)
    try:
        with alone(farm.folder / FOLDER, clock()):
            return _held(files, clock, log, looking)
    except BusyError as error:
        return _busy(error, clock(), log)
    except (StateError, NewerStateError) as error:
        cry_out(_post(farm), clock(), str(error))
        log.say("state", "error", why=str(error))
        raise
    finally:
        log.write()


def deliver_farm(folder: Path, clock: Callable[[], np.datetime64]) -> Result:
    """Hand over what is due, without a look at the weather.

    Raises
    ------
    ForecasterError
        If the farm file is wrong, or nothing can be kept.
    """
    farm = read_files(folder, folder / FOLDER, clock()).farm
    log = Log(farm.folder / FOLDER, clock())
    try:
        with (
            alone(farm.folder / FOLDER, clock()),
            Ledger.open(farm.folder / FOLDER, clock()) as ledger,
        ):
            if not ledger.due(clock()):
                return Result(0, (), {"sent": 0})
            runs = ledger.runs(clock() - hours(240), clock())
            issued = next(
                (each.issued for each in reversed(runs) if each.issued is not None),
                None,
            )
            checker = Check(ledger, _post(farm), farm.alerts.rules, clock, log)
            tally = checker.deliver(issued)
            code = 75 if tally.failed or tally.dead else 0
            return Result(code, (), {"sent": tally.sent, "failed": tally.failed})
    except BusyError as error:
        return _busy(error, clock(), log)
    finally:
        log.write()


def _held(
    files: Files,
    clock: Callable[[], np.datetime64],
    log: Log,
    see: Callable[[np.datetime64], Sight],
) -> Result:
    from forecaster.service.selfcheck.daily import notes

    farm = files.farm
    heart, fault = heartbeat_of(farm)
    heart.start()
    folder = farm.folder / FOLDER
    try:
        with Ledger.open(folder, clock()) as ledger:
            post = _post(farm)
            faults = tuple(each for each in (*post.faults, fault) if each)
            check = Check(
                ledger,
                post,
                farm.alerts.rules,
                clock,
                log,
                notes=(
                    *faults,
                    *_backed_up(ledger, clock()),
                    *notes(farm, ledger, post, clock(), log),
                ),
                codes=(77 if faults else 0, files.code),
            )
            result = check.run(partial(_seen, files, see))
    except ForecasterError as error:
        heart.end(ok=False, counts={"exit": error.exit_code})
        raise
    heart.end(ok=not result.wanting, counts=result.counts)
    return result


def _seen(
    files: Files, see: Callable[[np.datetime64], Sight], now: np.datetime64
) -> Sight:
    """What is seen; with files that were wrong for too long, nothing is."""
    if files.too_old:
        sight = blind(files.farm, now, files.trouble, files.code)
    else:
        sight = see(now)
    return replace(sight, farm=replace(sight.farm, trouble=files.trouble))


def _backed_up(ledger: Ledger, now: np.datetime64) -> tuple[str, ...]:
    try:
        ledger.back_up(now)
    except StateError as error:
        return (f"today's copy of the state could not be made: {error}",)
    return ()


def _busy(error: BusyError, now: np.datetime64, log: Log) -> Result:
    stuck = error.since is not None and bool(now - error.since > hours(STUCK_H))
    log.say("busy", "warning" if stuck else "info", since=str(error.since))
    words = (f"another check has held the state since {error.since}Z",)
    return Result(STUCK if stuck else BUSY, words if stuck else (), {"busy": 1})


def _post(farm: Farm) -> Post:
    alerts = farm.alerts
    channels, faults = channels_of(farm)
    return Post(
        farm=farm.name,
        zone=farm.place.zone,
        ways=alerts.ways,
        channels={each.name: each for each in channels},
        digest_at=alerts.digest_at,
        quiet_from=alerts.quiet_from,
        quiet_to=alerts.quiet_until,
        faults=faults,
    )
