"""The one frozen value every renderer receives.

Times are UTC ``datetime64[s]``; quantities are in the units of the domain. Words,
kilometres an hour and local clocks are a renderer's business.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from forecaster.domain.planning.withholding import NOT_TYPED, Withholding

if TYPE_CHECKING:
    import numpy as np

    from forecaster.domain.growth.grazing import GrazingEffect
    from forecaster.domain.growth.stage import Stage
    from forecaster.domain.place import Place
    from forecaster.domain.planning.next_step import Step
    from forecaster.domain.planning.stock_off import StockOff
    from forecaster.domain.planning.uneven import Choice
    from forecaster.domain.planning.windows import Status
    from forecaster.domain.record.after import Recorded
    from forecaster.domain.record.after_spray import AfterSpray
    from forecaster.domain.sourced import Sourced
    from forecaster.domain.spraying.hours import Reason, Why
    from forecaster.domain.spraying.limits import Limit, Quantity, Verdict


@dataclass(frozen=True, slots=True)
class Likely:
    """An early, likely and late outcome; 1 in 10 lies outside on either side.

    None: not reached before the weather ends.
    """

    early: np.datetime64 | None
    likely: np.datetime64 | None
    late: np.datetime64 | None


@dataclass(frozen=True, slots=True)
class Days:
    """Days from now, early, likely and late; None as in :class:`Likely`."""

    early: float | None
    likely: float | None
    late: float | None


@dataclass(frozen=True, slots=True)
class BlockView:
    """A run of hours of one verdict with the air in it.

    ``wind_from`` is the mean side [°], NaN when calm throughout; ranges are (low,
    high) over the hours. ``before`` and ``after`` say what ends it, None where the
    table of hours does. ``reasons`` are the limits that decide its hours, each at
    its worst, the one with most hours first.
    """

    start: np.datetime64
    end: np.datetime64
    verdict: Verdict
    wind_from: float
    wind_speed: tuple[float, float]
    delta_t: tuple[float, float]
    reasons: tuple[Reason, ...]
    before: Reason | None
    after: Reason | None
    in_window: bool
    """Whether it lies inside the likely stage window."""
    chance: float = float("nan")
    """[share] to keep within the label throughout; NaN when unknown."""
    lead_days: float = float("nan")
    """[d] from the issue of the forecast to its start."""


@dataclass(frozen=True, slots=True)
class HourRun:
    """Consecutive hours of the week with one verdict, all by day or all by night."""

    start: np.datetime64
    end: np.datetime64
    verdict: Verdict
    daylight: bool


@dataclass(frozen=True, slots=True)
class Arc:
    """Sides the wind may come from, clockwise between two bearings [whole °]."""

    first: int
    last: int


@dataclass(frozen=True, slots=True)
class Bar:
    """A limit that keeps hours of the week from being good, and how many."""

    limit: Limit
    why: Why
    verdict: Verdict
    hours: int


@dataclass(frozen=True, slots=True)
class WindowView:
    """The stage window in dates."""

    open: Likely
    best_from: Likely
    best_until: Likely
    closed: Likely


@dataclass(frozen=True, slots=True)
class Band:
    """A share as a range. [share 0…1] At most 1 in 10 lies outside on either side."""

    low: float
    likely: float
    high: float


@dataclass(frozen=True, slots=True)
class DayEffect:
    """What a spray would do by the published trials; a range, never a promise."""

    at: np.datetime64
    """The start of the block, or noon of the day."""
    prevented: Band | None
    """Of this season's live seed. None: unknown."""
    seedlings: Band | None
    """Next year's, as a share of those without the spray. None: unknown."""


@dataclass(frozen=True, slots=True)
class EffectView:
    """The effect of one active on the weed that matters most."""

    published: bool
    """Whether there is a published trial; without one nothing else is told."""
    best: DayEffect | None = None
    """The best day of the season by the model. None: cannot be told."""
    blocks: tuple[DayEffect, ...] = ()
    """Of each good block, then of each to look at first."""

    def of(self, block: BlockView) -> DayEffect | None:
        """The effect of one of the blocks."""
        return next((each for each in self.blocks if each.at == block.start), None)


@dataclass(frozen=True, slots=True)
class Against:
    """A row of the decision table that says not to use an active here."""

    row: str
    advice: str


@dataclass(frozen=True, slots=True)
class ActiveOutlook:
    """One active on the weed that matters most in one paddock."""

    active: str
    mode: str
    status: Status
    window: WindowView | None
    days_to_close: Days | None
    chance_open_now: float
    """[share] NaN when unknown."""
    chance_open: tuple[tuple[np.datetime64, float], ...]
    """At noon local solar time of the coming days."""
    blocks: tuple[BlockView, ...]
    look_first: tuple[BlockView, ...]
    bars: tuple[Bar, ...]
    hours: int
    """Hours of daylight judged."""
    step: Step
    step_block: BlockView | None
    effect: EffectView | None = None
    """None: it does not control this weed."""
    toxicity: bool = False
    """Whether the window is that of annual ryegrass toxicity."""
    week: tuple[HourRun, ...] = ()
    """Every hour judged, without a gap."""
    withholding: Withholding = NOT_TYPED
    """For stock, as typed from the label."""
    against: Against | None = None
    """A fact typed of the paddock that is against it; None: none known."""


@dataclass(frozen=True, slots=True)
class StageView:
    """Where the heads stand: the stage half of them have reached, with a range.

    None: heads are not out. ``words`` are the weed's own for each.
    """

    early: Stage | None
    likely: Stage | None
    late: Stage | None
    words: tuple[str, str, str]
    half_headed: Likely
    patchy: bool


@dataclass(frozen=True, slots=True)
class LookView:
    """The latest count of heads, and what it changed."""

    moment: np.datetime64
    heads: int
    small: bool
    """Fewer heads than a look should have."""
    recent: bool
    """Whether heads can hardly have moved on since."""
    stage_words: str
    """The next stage that half of the heads have to reach."""
    before: Likely
    """When they were to reach it, before this look."""
    after: Likely
    surprising: bool
    """Whether the model holds such a count next to impossible."""


@dataclass(frozen=True, slots=True)
class UnevenView:
    """Heads spread too widely to be sprayed on their mean."""

    factor: float
    """Their spread, in spreads of even heads."""
    chance: float
    """[share] that they are uneven."""
    choices: tuple[Choice, ...]
    """What is left, in order."""


@dataclass(frozen=True, slots=True)
class NearView:
    """A sensitive area near a paddock."""

    name: str
    kind: str
    care: float
    distance: float
    bearing: float


@dataclass(frozen=True, slots=True)
class StockView:
    """When stock must leave a paddock, and what its grazing did to the heads."""

    off: StockOff
    grazing: GrazingEffect
    grazing_rate: float
    """[DSE/ha] of the grazing that decides; NaN when unknown."""


@dataclass(frozen=True, slots=True)
class PaddockOutlook:
    """One paddock, or why there is none."""

    name: str
    hectares: float
    weed: str
    weed_name: str
    other_weeds: tuple[str, ...]
    note: str
    near: tuple[NearView, ...]
    stage: StageView | None
    actives: tuple[ActiveOutlook, ...]
    look: LookView | None = None
    """None: nobody has looked at this weed here this season."""
    uneven: UnevenView | None = None
    stock: StockView | None = None
    """None: nothing to say about stock."""
    warning: str = ""
    """What to know of the weed before all else."""
    barred_wind: tuple[Arc, ...] | None = None
    """Sides whose wind blows towards a sensitive area. None: nobody has said what
    lies around."""
    fault: str | None = None
    """Set when the paddock cannot be told; everything else is then empty."""
    id: str = ""
    """Outlives a change of the name where it is typed."""
    sprayed: np.datetime64 | None = None
    """The day it was sprayed this season, ``datetime64[D]``."""
    after: AfterSpray | None = None
    """What stands of it since; None: it was not sprayed."""

    @property
    def recorded(self) -> Recorded | None:
        """What the spray record says of that day; None: it holds nothing of it."""
        return None if self.after is None else self.after.recorded

    @property
    def earlier(self) -> Recorded | None:
        """What the record says of a day before that of the farm file."""
        return None if self.after is None else self.after.earlier


@dataclass(frozen=True, slots=True)
class WeatherView:
    """Where the weather came from."""

    source: str
    licence: str
    issued: np.datetime64
    age_hours: float
    first_hour: np.datetime64
    last_hour: np.datetime64
    traces: int
    warnings: tuple[str, ...]
    """What a reader must know before anything else."""
    notes: tuple[str, ...]
    invented: bool


@dataclass(frozen=True, slots=True)
class OwnChoice:
    """A limit the farm moved or holds on, shown on every page that uses it."""

    limit: str
    quantity: Quantity
    stated: Sourced
    holds: bool


@dataclass(frozen=True, slots=True)
class Outlook:
    """Everything a page of the weekly outlook says."""

    farm: str
    place: Place
    now: np.datetime64
    until: np.datetime64
    demo: bool
    weather: WeatherView
    season_break: np.datetime64 | None
    season_break_how: str
    paddocks: tuple[PaddockOutlook, ...]
    own_choices: tuple[OwnChoice, ...]
    cautions: tuple[str, ...]
