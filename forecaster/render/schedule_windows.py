"""Tasks for the scheduler of Windows, after the Task Scheduler 1.2 schema."""

from __future__ import annotations

import re
import subprocess
from typing import TYPE_CHECKING
from xml.sax.saxutils import escape

from forecaster.errors import UsageError
from forecaster.render.schedule_spec import MINUTE

if TYPE_CHECKING:
    from forecaster.render.schedule_spec import ScheduleSpec

NAMESPACE = "http://schemas.microsoft.com/windows/2004/02/mit/task"
_SINCE = "2026-01-01"
"""Any day gone by: a task repeats from its first moment on."""
_REPLACED = re.compile(r"%[^%]*%|\$\(")
"""What the scheduler puts values in for, with no way to ask it not to."""


def windows_files(spec: ScheduleSpec) -> dict[str, str]:
    """Tasks by file name, to be written in UTF-16 as they say.

    Raises
    ------
    UsageError
        If the paths of ``spec`` are none of Windows, or hold what it would replace.
    """
    spec.on_windows()
    deliver = _repeated("PT5M", f"{_SINCE}T00:00:00Z")
    return {
        f"{spec.name}-check.xml": _task(spec, "check", _check(spec), spec.check),
        f"{spec.name}-deliver.xml": _task(spec, "delivery", deliver, spec.deliver),
    }


def windows_install(spec: ScheduleSpec) -> str:
    """What to do with the files, one command a line."""
    lines = [
        f'  schtasks /Create /TN "{spec.name}-{what}" /XML "{spec.name}-{what}.xml" /F'
        for what in ("check", "deliver")
    ]
    admin = "as administrator " if spec.whole_system else ""
    note = (
        "They run whether you are logged on or not.\n"
        if spec.whole_system
        else "They run only while you are logged on; --system makes them run always.\n"
    )
    zone = (
        f"The computer's zone must be that of the farm, {spec.zone}.\n"
        if spec.daily
        else ""
    )
    return (
        f"Run these {admin}in the folder of the files that --write makes:\n"
        + "\n".join(lines)
        + f'\n  schtasks /Run /TN "{spec.name}-check"\n{note}{zone}'
    )


def _check(spec: ScheduleSpec) -> str:
    if spec.daily is None:
        return _repeated("PT1H", f"{_SINCE}T00:{MINUTE:02d}:00Z")
    start = f"{_SINCE}T{spec.daily:%H:%M}:00"
    return (
        "    <CalendarTrigger>\n"
        "      <Enabled>true</Enabled>\n"
        f"      <StartBoundary>{start}</StartBoundary>\n"
        "      <ScheduleByDay><DaysInterval>1</DaysInterval></ScheduleByDay>\n"
        "    </CalendarTrigger>\n"
    )


def _repeated(every: str, start: str) -> str:
    """From ``start`` on, for ever: no duration is given."""
    return (
        "    <TimeTrigger>\n"
        "      <Enabled>true</Enabled>\n"
        f"      <StartBoundary>{start}</StartBoundary>\n"
        f"      <Repetition><Interval>{every}</Interval>"
        "<StopAtDurationEnd>false</StopAtDurationEnd></Repetition>\n"
        "    </TimeTrigger>\n"
    )


def _task(spec: ScheduleSpec, what: str, trigger: str, words: tuple[str, ...]) -> str:
    program, arguments = words[0], subprocess.list2cmdline(words[1:])
    for text in (program, arguments):
        if _REPLACED.search(text):
            raise UsageError(
                f"--for windows: {text!r} holds %…% or $(, which the scheduler "
                "replaces; rename the folder"
            )
    logon = "S4U" if spec.whole_system else "InteractiveToken"
    return f"""\
<?xml version="1.0" encoding="UTF-16"?>
<!-- Made from {spec.stamp} by 'forecaster schedule'; make it anew, do not edit. -->
<Task version="1.2" xmlns="{NAMESPACE}">
  <RegistrationInfo>
    <Description>forecaster: {what}</Description>
  </RegistrationInfo>
  <Triggers>
{trigger}  </Triggers>
  <Principals>
    <Principal id="Author">
      <LogonType>{logon}</LogonType>
      <RunLevel>LeastPrivilege</RunLevel>
    </Principal>
  </Principals>
  <Settings>
    <MultipleInstancesPolicy>IgnoreNew</MultipleInstancesPolicy>
    <DisallowStartIfOnBatteries>false</DisallowStartIfOnBatteries>
    <StopIfGoingOnBatteries>false</StopIfGoingOnBatteries>
    <AllowHardTerminate>true</AllowHardTerminate>
    <StartWhenAvailable>true</StartWhenAvailable>
    <RunOnlyIfNetworkAvailable>false</RunOnlyIfNetworkAvailable>
    <Enabled>true</Enabled>
    <RunOnlyIfIdle>false</RunOnlyIfIdle>
    <WakeToRun>false</WakeToRun>
    <ExecutionTimeLimit>PT10M</ExecutionTimeLimit>
  </Settings>
  <Actions Context="Author">
    <Exec>
      <Command>{escape(program)}</Command>
      <Arguments>{escape(arguments)}</Arguments>
    </Exec>
  </Actions>
</Task>
"""
