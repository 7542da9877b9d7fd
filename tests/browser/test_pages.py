"""Pages as a real browser shows them.

References stand in ``fixtures/screens``; ``--remake`` draws them anew: look at them.
Needs Playwright, a Chromium and, for the rules of WCAG 2.2, the file of axe-core that
FORECASTER_AXE names; where FORECASTER_BROWSER is set, all have to be there.
"""

from __future__ import annotations

import os
import shutil
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from hostile_names import HOSTILE
from own_farm import demo_copy
from spray_records import add, entry, view_of_one

from forecaster.render import html, paddock_html, pages, record_html
from forecaster.render import sign as signs
from forecaster.service.daily import outlook
from forecaster.service.farms import all_farms
from forecaster.service.hours_view import paddock_hours
from forecaster.service.notice import notice
from forecaster.service.pdf import CHROMIUM
from forecaster.service.season_view import season_page
from forecaster.service.wiring import chosen, farm_day
from forecaster.settings.shipped import demo_folder

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from forecaster.service.farm_day import FarmDay

WANTED = bool(os.environ.get("FORECASTER_BROWSER"))
AXE = os.environ.get("FORECASTER_AXE", "")
FOUND = next(filter(None, map(shutil.which, CHROMIUM)), None)
SCREENS = Path(__file__).resolve().parents[2] / "fixtures" / "screens"
WIDTHS = {"phone": 360, "desk": 1280}
DIFFERENT, MOST = 48, 0.006
"""[grey levels] by which a spot differs, and the share of spots that may: letters are
drawn a little otherwise on each machine. Our own choice."""
SPOT = 4
"""[px] side of a spot."""

if WANTED:
    import playwright.sync_api as play
else:
    play = pytest.importorskip("playwright.sync_api")
    if FOUND is None:
        pytest.skip("no Chromium", allow_module_level=True)

NAMES = ("outlook", "paddock", "farms", "sign", "record", "sprayed")
every = pytest.mark.parametrize("name", NAMES)
widths = pytest.mark.parametrize("width", WIDTHS.values(), ids=list(WIDTHS))
schemes = pytest.mark.parametrize("scheme", ["light", "dark"])


@pytest.fixture(scope="module")
def shown(
    demo_day: FarmDay, tmp_path_factory: pytest.TempPathFactory
) -> dict[str, str]:
    """The demo's pages."""
    folder = tmp_path_factory.mktemp("farms")
    shutil.copytree(demo_folder(), folder / "thornbill-rise")
    (folder / "no-weather").mkdir()
    done = sprayed(tmp_path_factory.mktemp("sprayed") / "farm")
    shutil.copy(demo_folder() / "farm.toml", folder / "no-weather")
    place = chosen(demo_day, "Back Road", None)[0]
    actives = (demo_day.farm.actives[each] for each in place.actives)
    weeks = [paddock_hours(demo_day, place, active) for active in actives]
    return {
        "outlook": html.render(outlook(demo_day, demo=True)),
        "paddock": paddock_html.render(season_page(demo_day, place, demo=True), weeks),
        "farms": pages.farms(all_farms(folder, "2026-10-12T07:00")),
        "sign": signs.html(notice(demo_day, "Back Road", None, None, demo=True)),
        "record": record_html.render(view_of_one(demo_day, "Top Dam"), "Top Dam"),
        "sprayed": html.render(outlook(done)),
    }


def sprayed(folder: Path) -> FarmDay:
    """The demo's farm with a second look due in one paddock, another just sprayed."""
    demo_copy(folder)
    (folder / "looks.jsonl").unlink()
    job = entry().job
    for paddock, day in (("Creek Flat", "2026-09-25"), ("Woolshed", "2026-10-10")):
        start = np.datetime64(f"{day}T01:00", "s")
        done = replace(
            job, paddock=paddock, active="paraquat", start=start,
            finish=start + np.timedelta64(7200, "s"), changes=(), tanks=(),
        )  # fmt: skip
        add(folder / "records.jsonl", replace(entry(), job=done))
    return farm_day(folder, "2026-10-12T07:00", None)[0]


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """A Chromium without a window."""
    with play.sync_playwright() as driver:
        opened = driver.chromium.launch(
            executable_path=FOUND, args=["--no-sandbox", "--font-render-hinting=none"]
        )
        yield opened
        opened.close()


@pytest.fixture
def opened(browser: Any, tmp_path: Path) -> Iterator[Callable[..., Any]]:
    """Opens a page from the disk, with the network cut off."""
    contexts = []

    def go(page: str, width: int, scheme: str = "light", height: int = 800) -> Any:
        file = tmp_path / "page.html"
        file.write_text(page, encoding="utf-8")
        context = browser.new_context(
            viewport={"width": width, "height": height}, color_scheme=scheme,
            offline=True, java_script_enabled=True,
        )  # fmt: skip
        contexts.append(context)
        tab = context.new_page()
        tab.asked = []
        tab.on("request", lambda request: tab.asked.append(request.url))
        tab.goto(file.as_uri())
        return tab

    yield go
    for each in contexts:
        each.close()


_WIDER = """() => {
  const wide = document.documentElement.clientWidth + 1;
  const inside = node => node.closest('.scroll, .skip, thead') !== null;
  return [...document.querySelectorAll('body *')]
    .filter(node => !inside(node) && node.getBoundingClientRect().right > wide)
    .map(node => node.tagName + ' ' + (node.className.baseVal ?? node.className));
}"""


@every
@widths
def test_nothing_runs_over_the_edge(
    shown: dict[str, str], opened: Callable[..., Any], name: str, width: int
) -> None:
    """WCAG 2.2, 1.4.10 (reflow): nothing is wider than the screen but what scrolls."""
    tab = opened(shown[name], width)
    assert tab.evaluate("document.documentElement.scrollWidth") <= width
    assert tab.evaluate(_WIDER) == []


@every
def test_nothing_is_asked_of_the_network(
    shown: dict[str, str], opened: Callable[..., Any], name: str
) -> None:
    """The file alone: it opens with no signal."""
    tab = opened(shown[name], 360)
    (asked,) = tab.asked
    assert asked.startswith("file:")


@pytest.mark.skipif(not WANTED and not AXE, reason="FORECASTER_AXE names no axe-core")
@every
@widths
@schemes
def test_axe_finds_nothing(
    shown: dict[str, str],
    opened: Callable[..., Any],
    name: str,
    width: int,
    scheme: str,
) -> None:
    """axe-core's rules for WCAG 2.2 A and AA and its good practice."""
    page = shown[name].replace('http-equiv="Content-Security-Policy"', "")
    tab = opened(page, width, scheme)
    tab.add_script_tag(path=AXE)
    found = tab.evaluate("axe.run(document).then(result => result)")
    assert len(found["passes"]) > 10
    told = [
        (each["id"], [node["html"][:120] for node in each["nodes"][:3]])
        for each in found["violations"]
    ]
    assert told == []


@pytest.mark.skipif(not WANTED and not AXE, reason="FORECASTER_AXE names no axe-core")
def test_axe_would_find_a_fault(
    shown: dict[str, str], opened: Callable[..., Any]
) -> None:
    """Grey words on grey paper and a page without a language are seen."""
    page = shown["outlook"].replace('http-equiv="Content-Security-Policy"', "")
    page = page.replace(' lang="en-AU"', "").replace("--soft: #444", "--soft: #bbb")
    tab = opened(page, 1280)
    tab.add_script_tag(path=AXE)
    found = tab.evaluate("axe.run(document).then(result => result.violations)")
    assert {"html-has-lang", "color-contrast"} <= {each["id"] for each in found}


def test_every_part_is_reached_by_keyboard(
    shown: dict[str, str], opened: Callable[..., Any]
) -> None:
    """WCAG 2.2, 2.1.1: each paddock of the sheet leads to its details."""
    tab = opened(shown["outlook"], 1280)
    reached = []
    for _ in range(40):
        tab.keyboard.press("Tab")
        reached.append(tab.evaluate("document.activeElement.textContent.trim()"))
    assert reached[0] == "Skip to the paddocks"
    links = tab.evaluate(
        "[...document.querySelectorAll('a.name')].map(a=>a.textContent)"
    )
    assert len(links) == 8
    assert set(links) <= set(reached)


def test_forty_hostile_names_are_text(
    demo_day: FarmDay, opened: Callable[..., Any]
) -> None:
    """R21, in a browser that runs scripts: shown as written, nothing else happens."""
    page = outlook(demo_day, demo=True)
    few = [page.paddocks[at % len(page.paddocks)] for at in range(len(HOSTILE))]
    named = [replace(each, name=name) for each, name in zip(few, HOSTILE, strict=True)]
    tab = opened(html.render(replace(page, paddocks=tuple(named))), 360)
    alerts: list[str] = []
    tab.on("dialog", lambda dialog: alerts.append(dialog.message))
    seen = tab.evaluate(
        "[...document.querySelectorAll('a.name bdi')].map(a=>a.textContent)"
    )
    assert sorted(" ".join(each.split()) for each in seen) == sorted(
        " ".join(each.split()) for each in HOSTILE
    )
    assert tab.evaluate("document.querySelectorAll('script, img, iframe').length") == 0
    assert tab.evaluate("document.documentElement.scrollWidth") <= 360
    assert alerts == []


def spots(path: Path) -> Any:
    """A picture in grey, averaged over spots."""
    from PIL import Image

    with Image.open(path) as picture:
        grey = np.asarray(picture.convert("L"), dtype=np.float64)
    tall, wide = (size - size % SPOT for size in grey.shape)
    cut = grey[:tall, :wide].reshape(tall // SPOT, SPOT, wide // SPOT, SPOT)
    return cut.mean(axis=(1, 3))


def unlike(made: Path, kept: Path) -> float:
    """The share of spots that differ; pages of another size differ throughout."""
    one, two = spots(made), spots(kept)
    if abs(one.shape[0] - two.shape[0]) > 0.03 * two.shape[0]:
        return 1.0
    rows = min(one.shape[0], two.shape[0])
    columns = min(one.shape[1], two.shape[1])
    away = np.abs(one[:rows, :columns] - two[:rows, :columns])
    return float((away > DIFFERENT).mean())


@every
@widths
def test_it_looks_as_it_looked(
    shown: dict[str, str],
    opened: Callable[..., Any],
    request: pytest.FixtureRequest,
    name: str,
    width: int,
) -> None:
    """The upper part of each page, beside the picture that was looked at and kept."""
    made = request.getfixturevalue("tmp_path") / "made.png"
    opened(shown[name], width, height=1100).screenshot(path=made)
    kept = SCREENS / f"{name}-{width}.png"
    if request.config.getoption("--remake"):
        shutil.copy(made, kept)
    assert unlike(made, kept) <= MOST


def test_a_page_that_looks_otherwise_is_seen(
    shown: dict[str, str], opened: Callable[..., Any], tmp_path: Path
) -> None:
    """Strips without their ink are noticed."""
    made = tmp_path / "made.png"
    page = shown["outlook"].replace('fill="currentColor"', 'fill="none"')
    opened(page, 1280, height=1100).screenshot(path=made)
    assert unlike(made, SCREENS / "outlook-1280.png") > MOST
