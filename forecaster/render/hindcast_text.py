"""A hindcast as text of 80 columns."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from forecaster.domain.spraying.limits import Quantity
from forecaster.render.words import KMH, LocalClock, wrapped

if TYPE_CHECKING:
    from collections.abc import Sequence

    from forecaster.domain.hindcast_report import Hindcast, LeadScore
    from forecaster.domain.verification.calls import Calls
    from forecaster.domain.verification.chances import BrierScore, ReliabilityTable
    from forecaster.domain.verification.dates import DateErrors
    from forecaster.domain.verification.errors import ErrorSummary

NAMES = {
    Quantity.WIND_10M: ("wind at 10 m, km/h", KMH),
    Quantity.DELTA_T: ("Delta T, K", 1.0),
    Quantity.AIR_TEMPERATURE: ("air temperature, °C", 1.0),
    Quantity.RELATIVE_HUMIDITY: ("humidity, %", 1.0),
}
"""What each quantity is called, and what turns its unit into the printed one."""
CAUTION = (
    "Neighbouring hours are not independent: true limits are wider than those given. "
    "Hours that could not be judged are left out; they count neither for nor against "
    "the forecast."
)


def render(hindcast: Hindcast) -> str:
    """The hindcast as plain text."""
    found = _head(hindcast)
    if hindcast.leads:
        found += ["", *_errors(hindcast), "", *_calls(hindcast)]
    for score in hindcast.leads:
        if score.brier is not None and score.reliability is not None:
            found += ["", *_chances(score.lead, score.brier, score.reliability)]
    found += ["", *wrapped(CAUTION)]
    return "\n".join(found) + "\n"


def render_dates(weed_name: str, found: DateErrors, leads: Sequence[float]) -> str:
    """How far projected dates were out, by the days before they were told."""
    rows = [
        f"Half the heads of {weed_name} out: past seasons projected as if ahead, days",
        " told before  seasons    bias  mean error  in range",
    ]
    for step, lead in enumerate(leads):
        rows.append(
            f"{lead:>9.0f} d {int(found.errors.count[step]):>8}"
            f"{_signed(float(found.errors.bias[step]), sign='+'):>8}"
            f"{float(found.errors.mae[step]):>12.1f}"
            f"{in_hundred(float(found.covered[step])):>6} %"
        )
    note = (
        "The weather's share only: how far the weed's own numbers are from this place "
        "is no part of it. The range told should hold 80 %."
    )
    return "\n".join([*rows, *wrapped(note)]) + "\n"


def days(lead: int) -> str:
    """A lead in words."""
    return f"{lead} day" if lead == 1 else f"{lead} days"


def in_hundred(share: float) -> str:
    """A share as so many in 100; "-" where not known."""
    return "-" if math.isnan(share) else f"{100 * share:.0f}"


def _head(hindcast: Hindcast) -> list[str]:
    clock = LocalClock(hindcast.place.zone)
    hours = "daylight hours" if hindcast.daylight else "hours of day and night"
    return [
        "How good past forecasts were for spraying",
        *wrapped(
            f"From {clock.full(hindcast.first)} to {clock.full(hindcast.end)}, {hours}."
        ),
        *wrapped(f"Observed: {hindcast.observed}."),
        *wrapped(f"Forecast: {'; '.join(hindcast.forecast) or 'none'}."),
        *wrapped(f"Judged by: {'; '.join(hindcast.limits)}."),
        *(line for note in hindcast.notes for line in wrapped(f"Passed over: {note}.")),
    ]


def _errors(hindcast: Hindcast) -> list[str]:
    head = (
        f"{'':23}{'lead':>8}{'hours':>8}{'bias':>8}{'mean size':>11}"
        f"{'root mean square':>18}"
    )
    found = ["Error of the forecast: forecast less observed", head]
    for quantity, (name, factor) in NAMES.items():
        for number, score in enumerate(hindcast.leads):
            label = name if number == 0 else ""
            found.append(_error_row(label, score.lead, score.errors[quantity], factor))
    return found


def _error_row(label: str, lead: int, errors: ErrorSummary, factor: float) -> str:
    bias, mae, rmse = (
        _signed(float(each) * factor, sign=sign)
        for each, sign in ((errors.bias, "+"), (errors.mae, ""), (errors.rmse, ""))
    )
    hours = f"{int(errors.count):,}"
    return f"{label:23}{days(lead):>8}{hours:>8}{bias:>8}{mae:>11}{rmse:>18}"


def _signed(value: float, *, sign: str) -> str:
    if math.isnan(value):
        return "-"
    return f"{value:{sign}.1f}".replace("-0.0", "0.0").replace("+0.0", "0.0")


def _calls(hindcast: Hindcast) -> list[str]:
    above = (
        f"{'':8}{'called':>9}{'of them':>9}{'in 100':>8}{'':4}"
        f"{'were':>8}{'of them':>9}{'in 100':>8}{'neither':>9}{'unknown':>8}"
    )
    below = (
        f"{'lead':>8}{'good':>9}{'not fit':>9}{'called':>8}{'':4}"
        f"{'fit':>8}{'missed':>9}{'fit':>8}"
    )
    return [
        "Hours called good, and hours that were fit",
        above,
        below,
        *(_call_row(score.lead, score.calls) for score in hindcast.leads),
    ]


def _call_row(lead: int, calls: Calls) -> str:
    missed_share = 1.0 - calls.hit_share
    return (
        f"{days(lead):>8}{calls.called:>9,}{calls.false_goes:>9,}"
        f"{in_hundred(calls.false_go_share):>8}{'':4}"
        f"{calls.fit:>8,}{calls.missed:>9,}{in_hundred(missed_share):>8}"
        f"{calls.held:>9,}{calls.unknown:>8,}"
    )


def _chances(lead: int, brier: BrierScore, table: ReliabilityTable) -> list[str]:
    rows = [
        f"{_band(table, number):>13}{int(table.count[number]):>9,}"
        f"{table.said[number]:>9.2f}{table.share[number]:>12.2f}"
        f"{table.low[number]:>12.2f} to {table.high[number]:.2f}"
        for number in range(table.count.size)
        if table.count[number]
    ]
    return [
        f"Chances told {days(lead)} ahead",
        *wrapped(brier_words(brier)),
        f"{'chance':>13}{'hours':>9}{'told':>9}{'came true':>12}{'95 % limits':>20}",
        *rows,
    ]


def brier_words(brier: BrierScore) -> str:
    """The Brier score and what it is held against."""
    if not brier.count:
        return "No chance could be held against an outcome."
    skill = "not told: the outcome never changed"
    if not math.isnan(brier.skill):
        skill = f"{brier.skill:.2f} (1 perfect, 0 none, below 0 worse than none)"
    return (
        f"Brier score {brier.score:.3f} over {brier.count:,} hours; always telling the "
        f"usual share scores {brier.of_climate:.3f}. Skill {skill}."
    )


def _band(table: ReliabilityTable, number: int) -> str:
    low, high = table.edges[number : number + 2]
    return f"{low:.1f} to {high:.1f}"


def score_of(hindcast: Hindcast, lead: int) -> LeadScore:
    """The scores of one lead.

    Raises
    ------
    KeyError
        If the hindcast has none of that lead.
    """
    return {score.lead: score for score in hindcast.leads}[lead]
