"""The list of many farms as text, CSV, Markdown or JSON."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from forecaster.domain.planned import planned_blocks
from forecaster.domain.planning.windows import Status
from forecaster.render import json, markdown, words
from forecaster.render.page_text import plain
from forecaster.render.plain_values import number
from forecaster.render.standing import invented_words, made_words
from forecaster.render.table import moment, table

if TYPE_CHECKING:
    from forecaster.domain.farms import FarmRow, FarmsOutlook
    from forecaster.domain.outlook import BlockView, Outlook
    from forecaster.render.table import Cell

TITLE = "Farms by what presses most"
SORTED = (
    "First what cannot be told. Then by hectares over days to the likely close (at "
    "least half a day), the most first."
)
CHECK = (
    "Good hours are by forecast. Check wind and smoke at the site; the label decides."
)
HEAD = ("Farm", "Paddock", "ha", "Weed", "Active", "Status", "Days to close",
        "Next good hours", "Next step")  # fmt: skip
COLUMNS = (
    "farm", "paddock", "hectares", "weed", "active", "status", "days_to_close",
    "hectares_a_day", "next_good_start", "next_good_end", "next_step",
    "weather_of", "weather_age_h", "made_at", "read_first",
)  # fmt: skip
NO_DATA = "NO DATA"
OLD = "OLD WEATHER"


@dataclass(frozen=True, slots=True)
class Words:
    """One row of the list in words; all plain text."""

    farm: str
    paddock: str
    hectares: str
    weed: str
    active: str
    status: str
    days: str
    hours: str
    step: str

    @property
    def cells(self) -> tuple[str, ...]:
        """In the order of :data:`HEAD`."""
        return (self.farm, self.paddock, self.hectares, self.weed, self.active,
                self.status, self.days, self.hours, self.step)  # fmt: skip


def in_words(row: FarmRow) -> Words:
    """A row as a person reads it."""
    paddock, active = row.paddock, row.active
    clock = words.LocalClock(row.outlook.place.zone)
    block = _block(row)
    left = row.days_to_close
    ahead = row.status not in {Status.CLOSED, Status.SPRAYED}
    reason = paddock.fault or "no active to judge"
    return Words(
        farm=row.outlook.farm,
        paddock=paddock.name,
        hectares=f"{paddock.hectares:.0f}",
        weed=paddock.weed_name,
        active="" if active is None else active.active,
        status=row.status.value,
        days=f"{max(left, 0):.0f}" if left is not None and ahead else "",
        hours="" if block is None else clock.span(block.start, block.end),
        step=f"unknown: {reason}" if active is None else active.step.value,
    )


def alarms(farms: FarmsOutlook) -> list[tuple[str, str, str]]:
    """What stands above all rows: what it is, the farm, the reason."""
    lost = [(NO_DATA, each.farm, each.reason) for each in farms.faults]
    old = [
        (OLD, each.farm, f"{each.weather.age_hours:.0f} h old; see why no newer came")
        for each in farms.old
    ]
    return lost + old


def notes(outlook: Outlook) -> str:
    """What to know of one farm's rows before reading them."""
    clock = words.LocalClock(outlook.place.zone)
    invented = invented_words(outlook.weather, demo=outlook.demo)
    told = [invented, made_words(outlook, clock), *outlook.weather.warnings]
    return " ".join(each for each in told if each)


def text(farms: FarmsOutlook) -> str:
    """The list in 80 columns; long names are cut, the other formats have them whole."""
    found = [TITLE, *words.wrapped(SORTED), ""]
    told = alarms(farms)
    for head, farm, reason in told:
        found += words.wrapped(f"{head}: {plain(farm)}: {plain(reason)}")
    found += [""] if told else []
    found.append(
        _columns("farm", "paddock", "ha", "active", "status", "days", "next good hours")
    )
    for row in farms.rows:
        said = in_words(row)
        step = _hours(row) or said.step
        found.append(
            _columns(said.farm, said.paddock, said.hectares, said.active,
                     said.status, said.days, step)
        )  # fmt: skip
    found += ["", *(line for each in farms.farms for line in _note(each))]
    return "\n".join([*found, *words.wrapped(CHECK)]) + "\n"


def _hours(row: FarmRow) -> str:
    """``Wed 12:00-18:00``, where there are hours to plan by."""
    block = _block(row)
    if block is None:
        return ""
    clock = words.LocalClock(row.outlook.place.zone)
    return f"{clock.local(block.start):%a %H:%M}-{clock.local(block.end):%H:%M}"


def _block(row: FarmRow) -> BlockView | None:
    """The next hours somebody may plan by."""
    if row.active is None:
        return None
    return next(iter(planned_blocks(row.active)), None)


def _note(outlook: Outlook) -> list[str]:
    return words.bullet(plain(f"{outlook.farm}: {notes(outlook)}"))


def _columns(  # noqa: PLR0917 - the columns of a row
    farm: str, paddock: str, hectares: str, active: str, status: str, days: str,
    step: str,
) -> str:  # fmt: skip
    row = (
        f"{_cut(farm, 13)} {_cut(paddock, 14)} {hectares:>4} {_cut(active, 10)} "
        f"{status:12} {days:>4} {plain(step)}"
    )
    return row[: words.WIDTH].rstrip()


def _cut(name: str, width: int) -> str:
    shown = plain(name)
    return f"{shown[: width - 1]}…" if len(shown) > width else f"{shown:{width}}"


def csv(farms: FarmsOutlook) -> bytes:
    """The list for a spreadsheet; faults are rows too."""
    told = [[each.farm, *[None] * 4, NO_DATA, *[None] * 4, each.reason, *[None] * 4]
            for each in farms.faults]  # fmt: skip
    return table(COLUMNS, [*told, *map(_csv_row, farms.rows)])


def _csv_row(row: FarmRow) -> list[Cell]:
    said, outlook, weather = in_words(row), row.outlook, row.outlook.weather
    clock = words.LocalClock(outlook.place.zone)
    block = _block(row)
    hours = (None, None) if block is None else (block.start, block.end)
    left = row.days_to_close
    first = [invented_words(weather, demo=outlook.demo), *weather.warnings]
    return [
        said.farm, said.paddock, round(row.paddock.hectares, 1), said.weed,
        said.active, said.status, None if left is None else round(left, 1),
        round(row.pressure, 2), *(moment(each, clock) for each in hours), said.step,
        moment(weather.issued, clock), round(weather.age_hours, 1),
        moment(outlook.now, clock), " ".join(each for each in first if each),
    ]  # fmt: skip


def md(farms: FarmsOutlook) -> str:
    """The list as a Markdown page."""
    top = [f"# {TITLE}", "", SORTED, ""]
    found = [*top]
    found += [
        f"- **{head}**: {markdown.escape(farm)}: {markdown.escape(reason)}"
        for head, farm, reason in alarms(farms)
    ]
    found += [""] if len(found) > len(top) else []
    found += [*markdown.table(HEAD, map(_md_cells, farms.rows)), ""]
    found += [
        f"- {markdown.escape(each.farm)}: {markdown.escape(notes(each))}"
        for each in farms.farms
    ]
    return "\n".join([*found, "", CHECK]) + "\n"


def _md_cells(row: FarmRow) -> tuple[str, ...]:
    said = in_words(row)
    names = (said.farm, said.paddock, said.weed, said.step)
    farm, paddock, weed, step = map(markdown.escape, names)
    return replace(said, farm=farm, paddock=paddock, weed=weed, step=step).cells


def tree(farms: FarmsOutlook) -> dict[str, Any]:
    """The list as plain values; times are UTC, what is not known is null."""
    return {
        "schema": 1,
        "faults": [{"farm": each.farm, "reason": each.reason} for each in farms.faults],
        "rows": [_row_tree(row) for row in farms.rows],
        "farms": [json.tree(each) for each in farms.farms],
    }


def _row_tree(row: FarmRow) -> dict[str, Any]:
    active = row.active
    block = _block(row)
    return {
        "farm": row.outlook.farm,
        "paddock": row.paddock.name,
        "hectares": number(row.paddock.hectares),
        "active": None if active is None else active.active,
        "status": row.status.value,
        "days_to_close": number(row.days_to_close),
        "hectares_a_day": number(row.pressure),
        "block": None if block is None else json.block_tree(block),
        "fault": row.paddock.fault,
    }
