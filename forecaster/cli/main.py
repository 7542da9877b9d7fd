"""The command line: names of commands, and how errors leave the program."""

from __future__ import annotations

import os
import sys

import typer

from forecaster import __version__
from forecaster.cli.options import printing, silence_output
from forecaster.errors import ForecasterError, InternalError, UsageError

app = typer.Typer(
    name="forecaster",
    help=(
        "When is a pasture weed at the stage to spray, and which hours are fit? The "
        "label, the law and a look at the gate come first.\n\n"
        "Example:  forecaster outlook"
    ),
    add_completion=False,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"forecaster {__version__}")
        raise typer.Exit


@app.callback()
def main(
    version: bool = typer.Option(
        False, "--version", help="Print the version.", callback=_version, is_eager=True
    ),
) -> None:
    """Options before a command."""
    del version


from forecaster.cli import (  # noqa: E402 - commands join the app
    advise,
    boom,
    check,
    explain,
    feed,
    graze,
    hindcast,
    history,
    hours,
    init,
    look,
    notices,
    odds,
    outlook,
    pack,
    plan,
    propose,
    record,
    result,
    schedule,
    season,
    selfcheck,
    snooze,
    sources,
    spring_clock,
    stock,
    weather,
)
from forecaster.cli import run as running  # noqa: E402 - "run" is a function here

for _command in (
    outlook,
    advise,
    hours,
    look,
    record,
    explain,
    season,
    stock,
    odds,
    plan,
    feed,
    graze,
    boom,
    notices,
    check,
    schedule,
    running,
    history,
    snooze,
    selfcheck,
    weather,
    sources,
    propose,
    hindcast,
    result,
    spring_clock,
    pack,
    init,
):
    _command.join(app)


def run(arguments: list[str] | None = None) -> None:
    """Run the program and leave with the exit code of what happened."""
    sys.exit(exit_code(arguments))


def exit_code(arguments: list[str] | None = None) -> int:
    """Run the program; errors become one message on standard error."""
    _utf8_output()
    try:
        answer = app(_asked(arguments), standalone_mode=False)
        with printing():
            pass  # what is left in the buffer
    except ForecasterError as error:
        return _told(error)
    except (KeyboardInterrupt, typer.Abort):
        return 130
    except (BrokenPipeError, SystemExit):  # typer turns the first into the second
        # A pager was closed: nothing is wrong, and nobody is there to tell.
        silence_output()
        return 0
    except Exception as error:  # noqa: BLE001 - no traceback reaches a user
        return _told(_as_ours(error))
    return int(answer or 0)


def _asked(arguments: list[str] | None) -> list[str]:
    """The command line; an empty one asks for help."""
    given = sys.argv[1:] if arguments is None else arguments
    return given or ["--help"]


def _as_ours(error: Exception) -> ForecasterError:
    """A wrong command line, or a fault of the program."""
    message = getattr(error, "format_message", None)
    if message is not None:
        return UsageError(f"{message()} See --help.")
    if os.environ.get("FORECASTER_DEBUG"):
        raise error
    return InternalError(
        f"a fault of the program: {type(error).__name__}: {error}. Nothing was "
        "written. Set FORECASTER_DEBUG=1 and run again to see where, and report it."
    )


def _told(error: ForecasterError) -> int:
    typer.echo(f"forecaster: {error}", err=True)
    return error.exit_code


def _utf8_output() -> None:
    """Paddock names may hold any script, whatever the console's own encoding."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(encoding="utf-8", errors="replace")
