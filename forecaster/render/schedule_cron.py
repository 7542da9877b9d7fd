"""A table for cron, written after crontab(5)."""

from __future__ import annotations

import shlex
from typing import TYPE_CHECKING

from forecaster.errors import UsageError
from forecaster.render.schedule_spec import MINUTE

if TYPE_CHECKING:
    from forecaster.render.schedule_spec import ScheduleSpec

LONGEST = 980
"""Bytes of a command; with what may stand before it, cron takes less than 1000 (its
MAX_COMMAND)."""
CRON_FOLDER = "/etc/cron.d"
_LIMIT = "timeout -k 30 600"


def cron_files(spec: ScheduleSpec) -> dict[str, str]:
    """The table by its file name, which cron.d takes as it is.

    Raises
    ------
    UsageError
        If the paths of ``spec`` are none of such a system, or cannot be written so
        that every cron reads them alike.
    """
    spec.on_posix("cron")
    who = f"{spec.user or 'root'} " if spec.whole_system else ""
    log = f"{spec.farm}/check.log"
    check, deliver = (_command(words, log) for words in (spec.check, spec.deliver))
    turn = f"mv -f {_word(log)} {_word(log + '.1')} 2>/dev/null || true"
    text = (
        f"# Made from {spec.stamp} by 'forecaster schedule'; make it anew rather than "
        "edit it.\n"
        "SHELL=/bin/sh\nPATH=/usr/local/bin:/usr/bin:/bin\n"
        "# cron makes nothing good that was missed: the check itself does, also two\n"
        "# minutes after a start.\n"
        f"@reboot {who}sleep 120; {check}\n"
        f"*/5 * * * * {who}{deliver}\n"
        f"@weekly {who}{turn}\n"
        f"{_when(spec)} {who}{check}\n"
    )
    return {spec.name: text}


def _when(spec: ScheduleSpec) -> str:
    """The five fields of the check, and what they ask of the clock."""
    if spec.daily is not None:
        return (
            "# On the farm's clock. A cron that does not know CRON_TZ goes by the\n"
            "# computer's: set that to the same zone.\n"
            f"CRON_TZ={spec.zone}\n"
            f"{spec.daily.minute} {spec.daily.hour} * * *"
        )
    if spec.odd_change:
        return (
            f"# Clocks of {spec.zone} change by part of an hour: one minute\n"
            f"# of each hour would leave a gap of 90.\n{MINUTE},{MINUTE + 30} * * * *"
        )
    return (
        "# Clocks that change by whole hours change no minute: no CRON_TZ is needed.\n"
        f"{MINUTE} * * * *"
    )


def _command(words: tuple[str, ...], log: str) -> str:
    text = f"{_LIMIT} {' '.join(map(_word, words))} >> {_word(log)} 2>&1"
    if len(text.encode()) > LONGEST:
        raise UsageError(
            f"--for cron: the command has {len(text.encode())} bytes, cron takes "
            f"{LONGEST}; choose a folder with a shorter path"
        )
    return text


def _word(word: str) -> str:
    """One word for the shell, inside a line of cron."""
    if "\\" in word:
        raise UsageError(
            f"--for cron: {word!r} holds a backslash, which not every cron reads "
            "alike; rename the folder"
        )
    return shlex.quote(word).replace("%", "\\%")


def cron_install(spec: ScheduleSpec) -> str:
    """What to do with the table."""
    if spec.whole_system:
        return (
            f"The file belongs into {CRON_FOLDER}, owned by root, with chmod 644; cron "
            "finds it\nthere by itself.\n"
        )
    return (
        "Put its lines into your table with\n  crontab -e\n"
        "and look at it with\n  crontab -l\n"
        "'crontab FILE' would do away with all lines that are there already.\n"
    )
