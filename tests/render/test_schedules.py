"""Files of a schedule: what each scheduler makes of them, told by that scheduler.

Where it is there, systemd itself reads its units back (``systemd-analyze``, version
252 here). Rules of quoting: systemd.syntax(7), systemd.service(5), crontab(5), POSIX
shell; for Windows the rules of C programs for their arguments and the Task Scheduler
1.2 schema, version 1.0 of XML.
"""

from __future__ import annotations

import datetime as dt
import os
import re
import shutil
import subprocess
from dataclasses import replace
from typing import TYPE_CHECKING
from xml.etree import ElementTree as ET

import pytest

from forecaster.errors import UsageError
from forecaster.render.schedule_cron import LONGEST, cron_files, cron_install
from forecaster.render.schedule_failed import FAILED
from forecaster.render.schedule_spec import ScheduleSpec
from forecaster.render.schedule_systemd import systemd_files, systemd_install
from forecaster.render.schedule_windows import windows_files, windows_install

if TYPE_CHECKING:
    from pathlib import Path

ANALYZE = shutil.which("systemd-analyze")
SHELL = shutil.which("sh")
needs_systemd = pytest.mark.skipif(ANALYZE is None, reason="no systemd here")
needs_shell = pytest.mark.skipif(
    SHELL is None or os.name != "posix", reason="no POSIX shell here"
)
NASTY = [
    "/farm",
    "/two gums/back road",
    '/it\'s "quoted"',
    "/50 % off %h %% /%n",
    "/$HOME ${X} $$ $(id) `id`",
    "/naïve 牧場 🌾",
    "/semi ; & | > < # ! * ? ~ {a,b} [c]",
    "/-dash /=is @at :colon",
]
BACKSLASHES = ["/back\\slash \\n \\\\", "/ends in \\"]
ON_WINDOWS = [
    "C:\\farm",
    "C:\\Two Gums & Sons\\<back> 'road'",
    "D:\\50 % off\\$HOME;^!",
    "C:\\naïve 牧場 🌾",
    "\\\\server\\share\\farm",
    "C:\\",
]


def spec(farm: str, program: str = "/opt/py thon/bin/python") -> ScheduleSpec:
    """An hourly schedule."""
    return ScheduleSpec(
        farm,
        (program, "-P", "-m", "forecaster"),
        "Australia/Melbourne",
        fail_file="/etc/forecaster/farm 50%.fail",
    )


def only(files: dict[str, str], ending: str) -> str:
    """The file of that ending."""
    (text,) = [each for name, each in files.items() if name.endswith(ending)]
    return text


def keys(unit: str, name: str) -> list[str]:
    """Values of a key of a unit."""
    return re.findall(rf"^{name}=(.*)$", unit, re.MULTILINE)


def words_of(line: str) -> list[str]:
    """The words of an ``ExecStart=``, by the table of quoting in systemd.syntax(7)."""
    found = []
    for quoted, bare in re.findall(r'"((?:[^"\\]|\\.)*)"|(\S+)', line):
        word = re.sub(r'\\(["\\])', r"\1", quoted) if quoted else bare
        found.append(word.replace("%%", "%"))
    assert found[0].startswith(":")  # no variables
    return [found[0][1:], *found[1:]]


@pytest.mark.parametrize("farm", NASTY + BACKSLASHES)
def test_systemd_words_come_back_by_the_rules_of_its_manual(farm: str) -> None:
    """Check and delivery of every folder, whatever its name."""
    files = systemd_files(spec(farm))
    (check,) = keys(only(files, "check.service"), "ExecStart")
    (deliver,) = keys(only(files, "deliver.service"), "ExecStart")
    asked = ["/opt/py thon/bin/python", "-P", "-m", "forecaster", "check", "--farm"]
    assert words_of(check) == [*asked, farm]
    assert words_of(deliver) == [*asked, farm, "--deliver"]


@needs_systemd
@needs_shell
@pytest.mark.parametrize("whole_system", [True, False])
@pytest.mark.parametrize("folder", ["plain", "".join(NASTY + BACKSLASHES[:1])])
def test_systemd_reads_the_units_as_they_are_meant(
    tmp_path: Path, folder: str, whole_system: bool
) -> None:
    """No word of complaint, and its own dump holds the words we meant.

    A misspelt key is only a warning to ``verify``, so any output is a failure.
    """
    farm = tmp_path / folder.replace("/", "_")
    farm.mkdir()
    program = farm / "py thon"
    program.write_text("#!/bin/sh\n", encoding="utf-8")
    program.chmod(0o755)
    made = replace(
        spec(str(farm), str(program)), whole_system=whole_system, user="daemon"
    )
    units = tmp_path / "units"
    units.mkdir()
    for name, text in systemd_files(made).items():
        (units / name).write_text(text, encoding="utf-8")
    where = "--system" if whole_system else "--user"
    quiet = {**os.environ, "XDG_RUNTIME_DIR": str(tmp_path)}
    command = [str(ANALYZE), "verify", "--man=no", where, *map(str, units.iterdir())]
    done = subprocess.run(
        command, env=quiet, capture_output=True, text=True, check=True
    )
    assert done.stdout + done.stderr == ""
    loud = {**quiet, "SYSTEMD_LOG_LEVEL": "debug"}
    done = subprocess.run(command, env=loud, capture_output=True, text=True, check=True)
    said = done.stdout + done.stderr
    dumped = [
        unshelled(line.split("Command Line: ", 1)[1])
        for line in said.splitlines()
        if "Command Line: " in line
    ]
    check = dumped_words(made.check)
    assert check in dumped
    assert [*check, "--deliver"] in dumped
    assert ["/bin/sh", "-c", FAILED, made.name, made.fail_file] in dumped
    if whole_system:
        assert f"ReadWritePaths: {farm}" in said


def dumped_words(words: tuple[str, ...]) -> list[str]:
    """It takes no program with quotes in its path; a shell then starts it."""
    if re.search(r"[\"'`\\]", words[0]):
        return ["/bin/sh", "-c", 'exec "$0" "$@"', *words]
    return list(words)


def unshelled(line: str) -> list[str]:
    """Words of a line quoted for the shell, split by the shell."""
    done = subprocess.run(
        [str(SHELL), "-c", f"printf '%s\\0' {line}"],
        capture_output=True,
        check=True,
    )
    return done.stdout.decode().split("\0")[:-1]


@needs_systemd
@pytest.mark.parametrize("unit", ["check", "deliver", "failed"])
def test_a_service_of_the_computer_is_shut_in(tmp_path: Path, unit: str) -> None:
    """``systemd-analyze security`` gives 2.0 or less; a bare service has 9.6."""
    made = replace(spec("/farm", "/bin/sh"), whole_system=True, user="daemon")
    path = tmp_path / f"x-{unit}.service"
    path.write_text(only(systemd_files(made), f"{unit}.service"), encoding="utf-8")
    done = subprocess.run(
        [str(ANALYZE), "security", "--offline=true", "--no-pager", str(path)],
        capture_output=True,
        text=True,
        check=True,
    )
    (score,) = re.findall(r"Overall exposure level for .*: ([\d.]+)", done.stdout)
    assert float(score) <= 2.0


def test_a_hung_check_ends_and_its_failure_starts_what_tells_of_it() -> None:
    """systemd.service(5): without TimeoutStartSec a one-shot may run for ever.

    75, "try again later", is a failure too: nothing is made light of unasked.
    """
    files = systemd_files(spec("/farm"))
    check = only(files, "check.service")
    assert keys(check, "Type") == ["oneshot"]
    assert keys(check, "TimeoutStartSec") == ["10min"]
    assert keys(check, "OnFailure") == [f"{spec('/farm').name}-failed.service"]
    assert f"{spec('/farm').name}-failed.service" in files
    for text in files.values():
        assert not keys(text, "Restart")
        assert not keys(text, "SuccessExitStatus")
    assert keys(only(files, "check.timer"), "Persistent") == ["true"]


def test_secrets_are_offered_not_demanded() -> None:
    """A credential that is not there keeps a service from starting: systemd.exec(5)."""
    made = replace(spec("/farm"), secrets=("phone", "watcher"))
    check = only(systemd_files(made), "check.service")
    assert "#LoadCredential=phone:/etc/forecaster/phone\n" in check
    assert "#LoadCredential=watcher:/etc/forecaster/watcher\n" in check
    assert not keys(check, "LoadCredential")


def stub(folder: Path, name: str, text: str) -> None:
    """A program of the test's own."""
    path = folder / name
    path.write_text(f"#!/bin/sh\n{text}\n", encoding="utf-8")
    path.chmod(0o755)


@needs_shell
@pytest.mark.parametrize("fetcher", ["curl", "wget"])
def test_the_failure_line_calls_the_address_and_shows_it_to_nobody(
    tmp_path: Path, fetcher: str
) -> None:
    """It goes in by a pipe: arguments of a program are for all to see."""
    tools = tmp_path / "bin"
    tools.mkdir()
    for name in ("sed", "head", "cat"):
        (tools / name).symlink_to(str(shutil.which(name)))
    stub(tools, "logger", f'printf "%s|" "$@" > "{tmp_path}/log"')
    stub(
        tools, fetcher, f'printf "%s|" "$@" > "{tmp_path}/args"; cat > "{tmp_path}/in"'
    )
    to = "https://watch.example/ping/4f2a?x=1&y=%20"
    address = tmp_path / "the $file.fail"
    address.write_text(f"{to} \nhttps://other.example\n", encoding="utf-8")
    environment = {
        "PATH": str(tools),
        "MONITOR_UNIT": "farm-check.service",
        "MONITOR_EXIT_STATUS": "78",
    }
    line = [str(SHELL), "-c", FAILED, "forecaster-x", str(address)]
    subprocess.run(line, env=environment, check=True, timeout=20)
    asked = {"curl": f'url = "{to}"\n', "wget": f"{to}\n"}
    assert (tmp_path / "in").read_text(encoding="utf-8") == asked[fetcher]
    assert "example" not in (tmp_path / "args").read_text(encoding="utf-8")
    log = (tmp_path / "log").read_text(encoding="utf-8")
    assert "a check failed: farm-check.service, exit 78" in log
    assert "example" not in log


@needs_shell
@pytest.mark.parametrize("content", [None, "", "not an address\n", 'https://a"b\n'])
def test_without_an_address_the_failure_is_in_the_log_alone(
    tmp_path: Path, content: str | None
) -> None:
    """No file, an empty one, or one with something else in it."""
    tools = tmp_path / "bin"
    tools.mkdir()
    (tools / "sed").symlink_to(str(shutil.which("sed")))
    stub(tools, "logger", f'printf "%s|" "$@" > "{tmp_path}/log"')
    stub(tools, "curl", f'echo called > "{tmp_path}/args"')
    address = tmp_path / "a.fail"
    if content is not None:
        address.write_text(content, encoding="utf-8")
    line = [str(SHELL), "-c", FAILED, "forecaster-x", str(address)]
    subprocess.run(line, env={"PATH": str(tools)}, check=True, timeout=20)
    assert "a check failed" in (tmp_path / "log").read_text(encoding="utf-8")
    assert not (tmp_path / "args").exists()


def commands(table: str, fields: int = 5) -> list[str]:
    """What cron hands to the shell: crontab(5), an escaped percent sign is one."""
    lines = [
        each.split(" ", fields)[fields]
        for each in table.splitlines()
        if re.match(r"[\d*]", each)
    ]
    assert all(not re.search(r"(?<!\\)%", each) for each in lines)
    return [each.replace("\\%", "%") for each in lines]


@needs_shell
@pytest.mark.parametrize("folder", NASTY)
def test_the_shell_runs_the_line_of_cron_as_it_is_meant(
    tmp_path: Path, folder: str
) -> None:
    """A stand-in for the program writes down its arguments; output is in the log."""
    farm = tmp_path / folder.replace("/", "_")
    farm.mkdir()
    program = farm / "py thon"
    program.write_text(
        '#!/bin/sh\nfor each in "$@"; do printf "%s\\0" "$each"; done\n',
        encoding="utf-8",
    )
    program.chmod(0o755)
    made = spec(str(farm), str(program))
    (table,) = cron_files(made).values()
    deliver, check = commands(table)
    for line, words in ((check, made.check), (deliver, made.deliver)):
        subprocess.run([str(SHELL), "-c", line], check=True, timeout=20)
        log = farm / "check.log"
        assert log.read_bytes().decode().split("\0")[:-1] == list(words[1:])
        log.unlink()


@needs_shell
def test_cron_ends_a_check_that_hangs_and_keeps_two_logs_at_most(
    tmp_path: Path,
) -> None:
    """``timeout`` with 600 s, then a kill; each week the log starts anew."""
    made = spec(str(tmp_path))
    (table,) = cron_files(made).values()
    for line in commands(table):
        assert line.startswith("timeout -k 30 600 ")
    (turn,) = re.findall(r"^@weekly (.*)$", table, re.MULTILINE)
    subprocess.run([str(SHELL), "-c", turn], check=True)  # nothing there yet
    (tmp_path / "check.log").write_text("old", encoding="utf-8")
    subprocess.run([str(SHELL), "-c", turn], check=True)
    assert [each.name for each in tmp_path.iterdir()] == ["check.log.1"]
    (start,) = re.findall(r"^@reboot (.*)$", table, re.MULTILINE)
    assert start == f"sleep 120; {commands(table)[-1]}"


def test_a_table_of_the_computer_names_who_runs_it() -> None:
    """crontab(5): /etc/crontab and cron.d have a sixth field; names without dots."""
    made = replace(spec("/farm"), whole_system=True, user="grower")
    ((name, table),) = cron_files(made).items()
    assert re.fullmatch("[A-Za-z0-9_-]+", name)
    lines = [each for each in table.splitlines() if re.match(r"[\d*@]", each)]
    assert len(lines) == 4
    for line in lines:
        assert line.split(" ")[1 if line[0] == "@" else 5] == "grower"
    assert "/etc/cron.d" in cron_install(made)
    assert "crontab -e" in cron_install(spec("/farm"))


@pytest.mark.parametrize("farm", BACKSLASHES)
def test_cron_is_given_no_backslash(farm: str) -> None:
    """Some crons take one of two away, others do not."""
    with pytest.raises(UsageError, match="backslash"):
        cron_files(spec(farm))


def test_cron_is_given_no_line_it_would_cut() -> None:
    """Its source has room for 1000 bytes of a command (MAX_COMMAND)."""
    with pytest.raises(UsageError, match=f"cron takes {LONGEST}"):
        cron_files(spec("/" + "ü" * 300))
    (table,) = cron_files(spec("/" + "a" * 350)).values()
    assert max(len(each) for each in commands(table)) < 1000 - len("sleep 120; ")


SPACE = "{http://schemas.microsoft.com/windows/2004/02/mit/task}"


def task(text: str) -> ET.Element:
    """A task as a reader of XML sees it that goes by the declared encoding."""
    return ET.fromstring(text.encode("utf-16"))  # noqa: S314 - our own


def under(node: ET.Element, path: str) -> str:
    """The text of an element."""
    return node.findtext("/".join(SPACE + each for each in path.split("/"))) or ""


def c_arguments(line: str) -> list[str]:
    """Arguments as C programs on Windows split them.

    Backslashes count only before a quote: two make one there, and an odd one makes
    the quote a plain character.
    """
    found: list[str] = []
    word, quoted, begun, k = "", False, False, 0
    while k < len(line):
        slashes = len(line[k:]) - len(line[k:].lstrip("\\"))
        k += slashes
        if k < len(line) and line[k] == '"':
            word += "\\" * (slashes // 2)
            begun = True
            if slashes % 2:
                word += '"'
            else:
                quoted = not quoted
            k += 1
            continue
        word += "\\" * slashes
        begun = begun or slashes > 0
        if k == len(line):
            break
        if line[k] in " \t" and not quoted:
            found += [word] if begun else []
            word, begun = "", False
        else:
            word, begun = word + line[k], True
        k += 1
    return [*found, word] if begun else found


@pytest.mark.parametrize("farm", ON_WINDOWS)
def test_windows_tasks_are_xml_whose_arguments_come_back(farm: str) -> None:
    """Both tasks of every folder."""
    program = "C:\\Program Files & more\\python.exe"
    made = spec(farm, program)
    files = windows_files(made)
    for ending, words in (("check.xml", made.check), ("deliver.xml", made.deliver)):
        text = only(files, ending)
        assert text.startswith('<?xml version="1.0" encoding="UTF-16"?>\n')
        root = task(text)
        assert under(root, "Actions/Exec/Command") == program
        arguments = under(root, "Actions/Exec/Arguments")
        assert c_arguments(arguments) == list(words[1:])


def test_windows_tasks_say_what_the_schema_asks_for() -> None:
    """Names and order of triggers: triggerBaseType of the Task Scheduler 1.2 schema.

    Enabled, StartBoundary, EndBoundary, Repetition in this order, then what the kind
    of trigger adds.
    """
    hourly = spec("C:\\farm", "C:\\python.exe")
    root = task(only(windows_files(hourly), "check.xml"))
    assert root.tag == f"{SPACE}Task"
    assert root.get("version") == "1.2"
    (trigger,) = root.findall(f"{SPACE}Triggers/*")
    assert trigger.tag == f"{SPACE}TimeTrigger"
    names = [each.tag.removeprefix(SPACE) for each in trigger]
    assert names == ["Enabled", "StartBoundary", "Repetition"]
    assert re.fullmatch(r"\d{4}-\d\d-\d\dT\d\d:07:00Z", under(trigger, "StartBoundary"))
    assert under(trigger, "Repetition/Interval") == "PT1H"
    assert under(trigger, "Repetition/Duration") == ""  # for ever
    for key, value in {
        "StartWhenAvailable": "true",
        "MultipleInstancesPolicy": "IgnoreNew",
        "ExecutionTimeLimit": "PT10M",
        "DisallowStartIfOnBatteries": "false",
        "StopIfGoingOnBatteries": "false",
        "WakeToRun": "false",
    }.items():
        assert under(root, f"Settings/{key}") == value
    deliver = task(only(windows_files(hourly), "deliver.xml"))
    assert under(deliver, "Triggers/TimeTrigger/Repetition/Interval") == "PT5M"
    assert under(root, "Principals/Principal/LogonType") == "InteractiveToken"
    always = task(only(windows_files(replace(hourly, whole_system=True)), "check.xml"))
    assert under(always, "Principals/Principal/LogonType") == "S4U"
    daily = task(
        only(windows_files(replace(hourly, daily=dt.time(5, 30))), "check.xml")
    )
    (trigger,) = daily.findall(f"{SPACE}Triggers/*")
    names = [each.tag.removeprefix(SPACE) for each in trigger]
    assert names == ["Enabled", "StartBoundary", "ScheduleByDay"]
    assert under(trigger, "StartBoundary").endswith("T05:30:00")  # the computer's clock


@pytest.mark.parametrize("farm", ["C:\\%TEMP%\\farm", "C:\\$(Arg0)"])
def test_windows_is_given_nothing_it_would_replace(farm: str) -> None:
    """Variables and $(…) cannot be escaped in a task."""
    with pytest.raises(UsageError, match="replaces"):
        windows_files(spec(farm, "C:\\python.exe"))


@pytest.mark.parametrize(
    "farm", ["/a\nb", "/a\x00b", "/a\x1bb", "/a\udc80b", "/a\uffff"]
)
def test_what_no_file_can_hold_is_refused(farm: str) -> None:
    """Line breaks, control characters, bytes that are no text: XML 1.0, 2.2."""
    with pytest.raises(UsageError, match="rename the folder"):
        spec(farm)


def test_paths_of_another_system_are_refused() -> None:
    """A task for Windows cannot be made of folders of this computer."""
    for make in (systemd_files, cron_files):
        with pytest.raises(UsageError, match="on the computer that shall run"):
            make(spec("C:\\farm", "C:\\python.exe"))
    with pytest.raises(UsageError, match="on the computer that shall run"):
        windows_files(spec("/farm", "/bin/python"))


@pytest.mark.parametrize("hour", [0, 1, 2, 3])
def test_a_daily_check_at_an_hour_of_clock_changes_is_refused(hour: int) -> None:
    """02:30 is left out on the first Sunday of October (systemd/systemd 5595)."""
    with pytest.raises(UsageError, match="04:00 to 23:59"):
        replace(spec("/farm"), daily=dt.time(hour, 30))
    assert replace(spec("/farm"), daily=dt.time(4, 0)).daily == dt.time(4, 0)


def test_a_daily_check_is_on_the_farms_clock() -> None:
    """systemd.time(7): a zone may follow the time."""
    made = replace(spec("/farm"), daily=dt.time(5, 30))
    timer = only(systemd_files(made), "check.timer")
    assert keys(timer, "OnCalendar") == ["*-*-* 05:30:00 Australia/Melbourne"]
    (table,) = cron_files(made).values()
    assert "\nCRON_TZ=Australia/Melbourne\n30 5 * * * timeout" in table
    (hourly,) = cron_files(spec("/farm")).values()
    assert not keys(hourly, "CRON_TZ")
    windows = replace(made, farm="C:\\f", program=("C:\\p",))
    assert "Australia/Melbourne" in windows_install(windows)
    assert "Australia/Melbourne" not in windows_install(replace(windows, daily=None))


def test_names_are_plain_and_each_farms_own() -> None:
    """From the folder's name; two of the same name in different places differ."""
    odd = spec("/x/Näh 牧場 Farm!/").name
    assert re.fullmatch(r"forecaster-nah-farm-[0-9a-f]{6}", odd)
    assert re.fullmatch(r"forecaster-farm-[0-9a-f]{6}", spec("/牧場").name)
    assert spec("/a/farm").name != spec("/b/farm").name


def test_the_stamp_changes_with_what_a_schedule_is_made_of() -> None:
    """So that an old file can be told from one that would be made now."""
    first = spec("/farm")
    assert first.stamp == spec("/farm").stamp
    assert first.stamp != replace(first, daily=dt.time(6, 0)).stamp
    for make in (systemd_files, cron_files):
        assert all(first.stamp in text for text in make(first).values())
    windows = spec("C:\\f", "C:\\p")
    assert all(windows.stamp in text for text in windows_files(windows).values())


def test_users_units_are_told_to_outlive_their_user() -> None:
    """loginctl(1): without lingering they end at log-out."""
    assert "enable-linger" in systemd_install(spec("/farm"))
    whole = replace(spec("/farm"), whole_system=True, user="grower")
    assert "enable-linger" not in systemd_install(whole)
    assert "chown grower" in systemd_install(whole)
