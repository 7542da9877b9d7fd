"""A farm folder read into frozen objects, every fault of it at once."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.air import inversion
from forecaster.domain.boom.label import LabelBoom
from forecaster.domain.choice.springs import Springs
from forecaster.domain.choice.typed import Typed
from forecaster.domain.growth.grazing import Grazed, How
from forecaster.domain.place import Place
from forecaster.domain.planning.stock_off import Stay
from forecaster.domain.planning.withholding import NOT_TYPED, LabelSays, Withholding
from forecaster.domain.spraying.forecast_error import ASSUMED, Errors
from forecaster.domain.spraying.quantities import Exposure
from forecaster.errors import InputMissingError, SettingsError
from forecaster.settings import farm_checks, farm_dates
from forecaster.settings.actives import INVERSION, NUMBER_UNITS, Label
from forecaster.settings.alerts import Alerts, alerts_of, ids_of
from forecaster.settings.document import read_document, validate
from forecaster.settings.error_file import read_errors
from forecaster.settings.farm_dates import TypedDate, typed_dates
from forecaster.settings.farm_file import FarmFile, LabelTyped, WeatherEntry
from forecaster.settings.feed_file import typed_feed, typed_prices
from forecaster.settings.geometry import Near, hectares, middle, near, typed_near
from forecaster.settings.library import Library, load_library
from forecaster.settings.map_file import FarmMap, read_map
from forecaster.settings.names import same_name
from forecaster.settings.paddock_choice import typed as typed_choice
from forecaster.settings.record_rules import state_of
from forecaster.settings.rig_file import rigs_of
from forecaster.settings.shipped import config_folder

if TYPE_CHECKING:
    import datetime as dt
    from pathlib import Path

    from forecaster.domain.choice.rows import Table
    from forecaster.domain.feed.typed import FeedNumbers, FeedTyped
    from forecaster.domain.growth.control import WeedControl
    from forecaster.domain.growth.grazing import GrazingNumbers
    from forecaster.domain.growth.look import LookNumbers
    from forecaster.domain.growth.weed import Weed
    from forecaster.domain.money.cost import Prices
    from forecaster.domain.record.after import Recorded
    from forecaster.domain.rig.work_rate import Rig
    from forecaster.domain.spraying.limits import Limit
    from forecaster.settings.actives import Active
    from forecaster.settings.document import Document
    from forecaster.settings.farm_file import PaddockEntry
    from forecaster.settings.record_rules import StateId
    from forecaster.settings.stock_file import GrazedEntry

FARM_FILE = "farm.toml"


@dataclass(frozen=True, slots=True)
class Paddock:
    """One paddock and what lies around it.

    ``weeds``: share of the sward [%] by weed id; ``target`` is the one that matters
    most. ``actives`` are the ids to judge. ``surveyed`` is whether anyone has said
    what lies around it.
    """

    name: str
    hectares: float
    weeds: dict[str, float]
    target: str
    actives: tuple[str, ...]
    autumn_break: dt.date | None
    sprayed: dt.date | None
    hollow: bool
    note: str
    near: tuple[Near, ...]
    surveyed: bool
    grazed: tuple[Grazed, ...] = ()
    stays: tuple[Stay, ...] = ()
    """Of mobs in this paddock, past and planned."""
    ryegrass_toxicity: bool = False
    id: str = ""
    """Outlives a change of the name where it is typed."""
    value: float = 1.0
    """Weight of a hectare here in the plan of a rig; 0: leave it out this year."""
    middle: tuple[float, float] | None = None
    """Latitude and longitude of its centre [°]; None where it is not drawn."""
    typed: Typed = field(default_factory=Typed)
    """Facts for the choice of an active."""
    past: tuple[tuple[int, str], ...] = ()
    """Year and active of earlier springs."""
    recorded: Recorded | None = None
    """What the spray record says of ``sprayed``; no farm file holds it."""
    earlier: Recorded | None = None
    """What it says of a day before that; its days for stock count too."""
    sprays: tuple[dt.date, ...] = ()
    """Every day on which records say that its heads were sprayed, for who counts."""
    springs: Springs = field(default_factory=Springs)
    """``past``, the list of the choice and the spray record, once the day is known."""

    @property
    def exposure(self) -> Exposure:
        """Wind-from directions barred by any area near it."""
        exposed = np.zeros(360, dtype=np.bool_)
        for area in self.near:
            exposed |= area.exposed
        return Exposure(exposed, self.hollow, self.surveyed)


@dataclass(frozen=True, slots=True)
class Farm:
    """Everything the daily line needs to know of one farm."""

    folder: Path
    name: str
    place: Place
    autumn_break: dt.date | None
    weather: WeatherEntry
    paddocks: tuple[Paddock, ...]
    weeds: dict[str, Weed]
    actives: dict[str, Active]
    labels: dict[str, Label]
    limits: dict[str, tuple[Limit, ...]] = field(repr=False)
    """Advice and data limits by mode of active, the farm's own choices applied."""
    look_numbers: LookNumbers = field(repr=False)
    grazing: GrazingNumbers = field(repr=False)
    errors: Errors = field(repr=False)
    """Errors of forecasts measured here; empty where none were."""
    document: Document = field(repr=False)
    """The farm file, to place what is found wrong once the day is known."""
    dates: tuple[TypedDate, ...] = field(repr=False)
    controls: dict[str, WeedControl] = field(repr=False)
    choice: Table = field(repr=False)
    """The decision table."""
    feed: FeedTyped = field(repr=False)
    prices: Prices = field(repr=False)
    feed_numbers: FeedNumbers = field(repr=False)
    alerts: Alerts = field(repr=False)
    map_file: str | None = None
    """What is published on spraying each weed, by weed id."""
    rigs: tuple[Rig, ...] = ()
    state: StateId | None = None
    """Whose law on records holds; None where the zone lies in no state known."""

    def on(self, today: dt.date, latest: dt.date) -> Farm:
        """The farm as it was on ``today``: what came later has not happened yet.

        ``latest`` is the later of that day and the calendar.

        Raises
        ------
        SettingsError
            If a typed date lies in the future or in another season.
        """
        faults = list(
            farm_dates.faults(self.document, self.dates, today=today, latest=latest)
        )
        if faults:
            raise SettingsError(faults)
        paddocks = tuple(_on(each, today) for each in self.paddocks)
        return replace(self, paddocks=paddocks)


def _on(paddock: Paddock, today: dt.date) -> Paddock:
    """A paddock as it was on ``today``; stock that left later are still on."""
    day = np.datetime64(today, "D")
    sprayed = paddock.sprayed
    return replace(
        paddock,
        sprayed=None if sprayed is not None and sprayed > today else sprayed,
        grazed=tuple(
            replace(each, end=None) if each.end is not None and each.end > day else each
            for each in paddock.grazed
            if each.start <= day
        ),
    )


def load_farm(folder: Path) -> Farm:
    """Read ``folder/farm.toml`` and the map it names.

    Raises
    ------
    InputMissingError
        If the folder, the farm file or the map does not exist.
    DataError
        If the map is not usable GeoJSON.
    SettingsError
        With every other fault at once.
    """
    path = folder / FARM_FILE if folder.is_dir() or not folder.suffix else folder
    if not path.exists():
        raise InputMissingError(
            f"{path}: no such file; check the name, or make a farm folder with "
            "'forecaster init DIR'"
        )
    document = read_document(path)
    file = validate(document, FarmFile)
    library = load_library(config_folder())
    drawn = read_map(path.parent / file.farm.map) if file.farm.map else None
    faults = farm_checks.faults(document, file, library, drawn)
    if faults:
        raise SettingsError(faults)
    return Farm(
        folder=path.parent,
        name=file.farm.name,
        place=_place(file),
        autumn_break=file.season.autumn_break,
        weather=file.weather,
        paddocks=_paddocks(file, drawn, library),
        weeds=library.weeds,
        actives=library.actives,
        labels={name: _label(name, entry) for name, entry in file.labels.items()},
        limits={
            mode: farm_checks.own_choices(found, file.advice)
            for mode, found in library.limits.items()
        },
        look_numbers=library.looks,
        grazing=library.grazing,
        errors=_errors(path.parent, file),
        document=document,
        dates=typed_dates(file),
        controls=library.controls,
        choice=library.choice,
        feed=typed_feed(file.feed),
        prices=typed_prices(file.prices),
        feed_numbers=library.feed,
        alerts=alerts_of(file.alerts, library.alerts),
        map_file=file.farm.map,
        rigs=rigs_of(file),
        state=state_of(file.farm.zone, file.farm.state),
    )


def _errors(folder: Path, file: FarmFile) -> Errors:
    """Errors of forecasts that were measured here, else the assumed ones."""
    measured = file.weather.errors
    return read_errors(folder / measured, _place(file)) if measured else ASSUMED


def _place(file: FarmFile) -> Place:
    at = file.farm
    return Place(at.latitude, at.longitude, at.elevation_m, at.zone)


def _paddocks(
    file: FarmFile, drawn: FarmMap | None, library: Library
) -> tuple[Paddock, ...]:
    ids = ids_of((each.name, each.id) for each in file.paddock)
    return tuple(
        replace(_paddock(each, file, drawn, library), id=name)
        for each, name in zip(file.paddock, ids, strict=True)
    )


def _label(active: str, entry: LabelTyped) -> Label:
    numbers: dict[str, float | None] = {}
    for key in NUMBER_UNITS:
        typed = getattr(entry, key)
        if typed is not None:
            numbers[key] = typed if isinstance(typed, float) else None
    if entry.inversion_restraint is not None:
        forbids = entry.inversion_restraint is True
        numbers[INVERSION] = inversion.HIGH if forbids else None
    return Label(
        active=active,
        confirmed=entry.confirmed,
        confirmed_by=entry.confirmed_by,
        read_on=entry.read_on,
        name=entry.label,
        numbers=numbers,
        weeds=tuple(entry.weeds),
        withholding=_withholding(entry),
        boom=_label_boom(entry),
    )


def _label_boom(entry: LabelTyped) -> LabelBoom:
    """A number counts once the label is confirmed, and not before."""
    height, rate = entry.boom_height_max_m, entry.product_per_hectare
    return LabelBoom(
        confirmed=entry.confirmed,
        height_max=height if isinstance(height, float) else None,
        no_height=isinstance(height, str),
        rate=rate,
        unit=entry.product_unit or "",
    )


def _withholding(entry: LabelTyped) -> Withholding:
    typed = entry.grazing_withholding_days
    if typed is None:
        return NOT_TYPED
    if not entry.confirmed:
        return Withholding(LabelSays.UNCONFIRMED)
    if isinstance(typed, str):
        return Withholding(LabelSays.NONE)
    return Withholding(LabelSays.DAYS, typed)


def _paddock(
    entry: PaddockEntry,
    file: FarmFile,
    drawn: FarmMap | None,
    library: Library,
) -> Paddock:
    shape = drawn.paddocks.get(same_name(entry.name)) if drawn else None
    around = _around(entry, file, drawn)
    area = hectares(shape.geometry) if shape else 0.0
    choice = typed_choice(entry, file)
    return Paddock(
        name=entry.name,
        hectares=entry.hectares if entry.hectares is not None else area,
        weeds=dict(entry.weeds),
        target=entry.target or choice.weighed[0].weed,
        actives=tuple(entry.actives or library.actives),
        autumn_break=entry.autumn_break,
        sprayed=entry.sprayed,
        hollow=entry.hollow,
        note=entry.note,
        near=around[0],
        surveyed=around[1],
        grazed=tuple(_grazed(each) for each in entry.grazed),
        stays=_stays(entry, file),
        ryegrass_toxicity=entry.ryegrass_toxicity,
        value=entry.value,
        middle=middle(shape.geometry) if shape else None,
        typed=choice,
        past=tuple((each.year, each.active) for each in entry.past),
    )


def _around(
    entry: PaddockEntry, file: FarmFile, drawn: FarmMap | None
) -> tuple[tuple[Near, ...], bool]:
    """What lies near, the nearest first, and whether anybody has looked."""
    shape = drawn.paddocks.get(same_name(entry.name)) if drawn else None
    found = []
    typed = [
        each
        for each in file.sensitive
        if same_name(each.paddock) == same_name(entry.name)
    ]
    if shape is not None and drawn is not None:
        found += [
            near(shape.geometry, area.geometry, name=area.name, kind=area.kind,
                 care=area.care or 0.0)
            for area in drawn.sensitive
        ]  # fmt: skip
    found += [
        typed_near(each.bearing, each.distance_m, name=each.name, kind=each.kind,
                   care=each.care_m)
        for each in typed
    ]  # fmt: skip
    on_map = shape is not None and drawn is not None and bool(drawn.sensitive)
    told = sorted((each for each in found if each), key=lambda each: each.distance)
    return tuple(told), on_map or bool(typed) or entry.nothing_near


def _grazed(entry: GrazedEntry) -> Grazed:
    until = None if entry.until is None else np.datetime64(entry.until, "D")
    return Grazed(How(entry.how), np.datetime64(entry.start, "D"), until, entry.dse)


def _stays(entry: PaddockEntry, file: FarmFile) -> tuple[Stay, ...]:
    """Of every mob in this paddock."""
    here = same_name(entry.name)
    return tuple(
        Stay(
            mob.name,
            mob.dse,
            np.datetime64(stay.start, "D"),
            np.datetime64(stay.until, "D"),
        )
        for mob in file.mob
        for stay in mob.stay
        if same_name(stay.paddock) == here
    )
