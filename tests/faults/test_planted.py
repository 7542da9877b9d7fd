"""Faults planted in a copy of the program: each turns a test red.

A test that cannot fail proves nothing. Each row is a mistake somebody might make, and
the test that has to notice.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

import pytest

import forecaster

ALERTS = "tests/adapters/alerts/"
DOMAIN = "tests/domain/alerts/"
STORY = "tests/faults/test_machine.py::test_any_story_keeps_the_promise"
LONGEST_S = 60.0


class Planted(NamedTuple):
    """A mistake: in which file, what stands there, what is put instead, who sees it."""

    file: str
    right: str
    wrong: str
    test: str


PLANTED = {
    "marked before it is sent": Planted(
        "service/alerts/relay.py",
        "        outcome = self._send(claimed, message, true)\n",
        "        sent = replace(claimed, state=Sending.SENT)\n"
        "        self.ledger.finish(sent)\n"
        "        outcome = self._send(claimed, message, true)\n",
        STORY,
    ),
    "what happened kept without what is to be sent": Planted(
        "service/alerts/check.py",
        "            tx.add_messages(letters.messages)\n",
        "            tx.put_run(run)\n"
        "        with self.ledger.writing() as tx:\n"
        "            tx.add_messages(letters.messages)\n",
        STORY,
    ),
    "sent before it is kept": Planted(
        "service/alerts/check.py",
        "        issued = sight.farm.issued\n        run = replace(",
        "        for row in letters.deliveries:\n"
        "            from forecaster.domain.alerts import keys\n"
        "            from forecaster.domain.alerts.letter import Letter\n"
        "            from forecaster.domain.alerts.records import Rank\n"
        "            key = keys.of_letter(row.message, row.channel)\n"
        "            letter = Letter(key, Rank.PUSH, '', '', '')\n"
        "            self.post.channels[row.channel].send(letter, 1.0)\n"
        "        issued = sight.farm.issued\n        run = replace(",
        STORY,
    ),
    "a key without its epoch": Planted(
        "domain/alerts/keys.py", "str(epoch), change", "'', change",
        DOMAIN + "test_decide.py::test_a_second_opening_has_a_key_of_its_own",
    ),
    "a key with the date in it": Planted(
        "domain/alerts/events.py",
        "kept.epoch, serial),",
        "kept.epoch, serial) + str(context.farm.now),",
        DOMAIN + "test_decide.py::test_the_same_change_has_the_same_key_later",
    ),
    "commits that are not settled": Planted(
        "store/database.py", "PRAGMA synchronous = FULL", "PRAGMA synchronous = OFF",
        "tests/faults/test_order.py",
    ),
    "the last good answer written in place": Planted(
        "sources/atomic_file.py",
        "    with _written(path, content) as part:\n        replace(part, path)\n\n\n"
        "def write_new",
        "    path.write_bytes(b'')\n    with _written(path, content) as part:\n"
        "        replace(part, path)\n\n\ndef write_new",
        "tests/adapters/http/test_lastgood.py::test_a_full_disk_leaves_the_old_copy",
    ),
    "no lock": Planted(
        "store/one_check.py", "lock.acquire(timeout=wait_s)", "pass",
        "tests/adapters/store/test_ledger.py::test_one_check_at_a_time",
    ),
    "a channel's failure passed over": Planted(
        "service/alerts/relay.py",
        'Fate.LATER, f"a fault of the channel',
        'Fate.ACCEPTED, f"a fault of the channel',
        ALERTS + "test_relay.py::test_each_channel_lives_its_own_life",
    ),
    "a watcher told of success whatever happened": Planted(
        "service/alerts/farm_check.py", "heart.end(ok=False,", "heart.end(ok=True,",
        ALERTS + "test_farm_check.py::test_the_watcher_hears_success_only_of_success",
    ),
    "local days by adding to the wall clock": Planted(
        "service/alerts/local_day.py",
        "return max(as_utc(wall.replace(fold=fold)) for fold in (0, 1))",
        "import numpy as np\n"
        "    ten = np.timedelta64(36000, 's')\n"
        "    return np.datetime64(dt.datetime.combine(day, time), 's') - ten",
        ALERTS + "test_local_day.py",
    ),
    "a missing hour taken for no warmth": Planted(
        "domain/growth/thermal_time.py",
        "np.where(enough, total / np.where(enough, count, 1), np.nan)",
        "np.where(enough, total / np.where(enough, count, 1), 0.0)",
        "tests/domain/growth/test_thermal_time.py::test_a_day_needs_twenty_hours",
    ),
    "no end to a slow answer": Planted(
        "sources/deadline.py",
        "return max(0.0, self.end - time.monotonic())",
        "return max(0.0, self.end - time.monotonic() + 2.0)",
        "tests/adapters/http/test_slow.py",
    ),
    "an answer that was cut off": Planted(
        "sources/body.py", "    if response.length:\n        raise",
        "    if False:\n        raise",
        "tests/adapters/http/test_bodies.py::test_a_short_body_is_not_accepted",
    ),
    "redirects followed": Planted(
        "notify/apprise_channel.py", "        made.redirects = False\n",
        "        made.redirects = True\n",
        "tests/adapters/notify/test_channels.py::test_webhook_redirects_are_not_followed",
    ),
    "one loop for all messages": Planted(
        "service/alerts/relay.py",
        'return Outcome(Fate.NEVER, f"cannot be put',
        'raise\n            return Outcome(Fate.NEVER, f"cannot be put',
        ALERTS + "test_relay.py::test_a_poisoned_message_stops_no_other",
    ),
    "a snooze without end": Planted(
        "domain/alerts/events.py", "Change.CLOSING, Change.FEW_HOURS, Change.CLOSED,",
        "",
        DOMAIN + "test_unwatched.py::test_a_snooze_keeps_quiet_but_for_the_end",
    ),
    "names put into a page as they are": Planted(
        "render/templating.py", "        autoescape=True,\n",
        "        autoescape=False,\n",
        "tests/render/test_html.py::test_forty_hostile_names_are_text",
    ),
}  # fmt: skip


def _copy(folder: Path) -> Path:
    """The program, where it can be spoilt."""
    package = Path(forecaster.__file__).parent
    shutil.copytree(
        package, folder / "forecaster", ignore=shutil.ignore_patterns("__pycache__")
    )
    if (package.parent / "config").is_dir():
        shutil.copytree(package.parent / "config", folder / "config")
    return folder


def _code(copy: Path, test: str, top: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-P", "-B", "-m", "pytest", "-q", "-x", "-n0",
         "-p", "no:cacheprovider", test],
        cwd=top, capture_output=True, text=True, check=False, timeout=LONGEST_S,
        env={**os.environ, "PYTHONPATH": str(copy), "FORECASTER_PLANTED": "1"},
    )  # fmt: skip


@pytest.mark.parametrize("name", PLANTED)
def test_a_planted_fault_is_found(name: str, tmp_path: Path) -> None:
    """The named test fails on the spoilt copy."""
    planted = PLANTED[name]
    copy, top = _copy(tmp_path), Path(__file__).parents[2]
    path = copy / "forecaster" / planted.file
    text = path.read_text(encoding="utf-8")
    assert text.count(planted.right) == 1, "the place has changed: plant it anew"
    path.write_text(text.replace(planted.right, planted.wrong), encoding="utf-8")
    with suppress(subprocess.TimeoutExpired):  # a test that hangs is red, too
        done = _code(copy, planted.test, top)
        assert done.returncode == 1, done.stdout[-2000:]


def test_the_copy_itself_is_sound(tmp_path: Path) -> None:
    """Without a fault the same tests pass on the same copy."""
    copy, top = _copy(tmp_path), Path(__file__).parents[2]
    test = DOMAIN + "test_decide.py"
    assert _code(copy, test, top).returncode == 0
