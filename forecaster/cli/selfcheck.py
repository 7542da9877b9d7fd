"""``forecaster selfcheck``: whether alerts would come, and what to mend if not."""

from __future__ import annotations

from pathlib import Path

import typer

from forecaster.cli import options


def join(app: typer.Typer) -> None:
    """Add the command."""
    app.command("selfcheck")(selfcheck)


def selfcheck(
    farm: Path | None = options.FARM,
    only: list[str] | None = typer.Option(
        None, "--only", help="Only this check; may come again.", show_default=False
    ),
    listing: bool = typer.Option(
        False, "--list", help="Name the checks; look at nothing."
    ),
    send_test: bool = typer.Option(
        False, "--send-test", help="Also send a test message through every channel."
    ),
    offline: bool = typer.Option(False, "--offline", help="Ask nobody over a network."),
    form: str = options.FORMAT,
) -> None:
    """Look whether alerts would come; each failure with its remedy.

    Example:  forecaster selfcheck --farm my-farm
    """
    options.check_format(form)
    from forecaster import __version__
    from forecaster.domain.alerts.finding import exit_of
    from forecaster.errors import UsageError
    from forecaster.render import selfcheck_text
    from forecaster.render.json import dumps
    from forecaster.service.clock import utc_now
    from forecaster.service.program import own_farm
    from forecaster.service.selfcheck import running
    from forecaster.service.selfcheck.subject import Subject

    if send_test and offline:
        raise UsageError("--send-test needs the network; leave out --offline")
    folder, now = own_farm(farm, "selfcheck"), utc_now()
    subject = Subject.of(folder, now, offline=offline)
    if listing:
        names = [(each.id, each.about) for each in running.items_of(subject)]
        return options.deliver(selfcheck_text.listing(names), None)
    found = running.selfcheck(subject, only or (), send_test=send_test)
    if form == "json":
        name = folder.name if subject.farm is None else subject.farm.name
        told = dumps(selfcheck_text.tree(found, name, now, __version__))
    else:
        told = selfcheck_text.render(found)
    options.deliver(told, None)
    raise typer.Exit(exit_of(found))
