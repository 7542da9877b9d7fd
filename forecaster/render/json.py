"""The outlook as JSON, as ``docs/reference/outlook.schema.json`` describes it.

Times are UTC in ISO 8601, units stand in the names, and what is not known is null.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from forecaster.render.after_json import after_tree
from forecaster.render.plain_values import iso, number
from forecaster.render.words import VERDICT_WORDS, firmness, reason_words

if TYPE_CHECKING:
    from forecaster.domain.outlook import (
        ActiveOutlook,
        Band,
        Bar,
        BlockView,
        DayEffect,
        Days,
        EffectView,
        Likely,
        LookView,
        NearView,
        Outlook,
        PaddockOutlook,
        StockView,
        WindowView,
    )
    from forecaster.domain.planning.stock_off import Band as OffBand
    from forecaster.domain.planning.stock_off import StockOff
    from forecaster.domain.rig.rig_plan import RigPlan
    from forecaster.domain.spraying.hours import Reason

SCHEMA = 1
"""Raised when a field changes its meaning or goes."""


def render(outlook: Outlook, plan: RigPlan | None = None) -> str:
    """The outlook as one JSON document, with the order of a rig where there is one."""
    if plan is None:
        return dumps(tree(outlook))
    from forecaster.render import rig_json

    return dumps({**tree(outlook), "plan": rig_json.tree(plan)})


def dumps(values: dict[str, Any]) -> str:
    """One JSON document; letters as they are, no NaN."""
    return json.dumps(values, ensure_ascii=False, indent=2, allow_nan=False) + "\n"


def tree(outlook: Outlook) -> dict[str, Any]:
    """The outlook as plain dicts and lists."""
    weather = outlook.weather
    place = outlook.place
    broke = outlook.season_break
    return {
        "schema": SCHEMA,
        "farm": outlook.farm,
        "demo": outlook.demo,
        "place": {
            "latitude": place.latitude,
            "longitude": place.longitude,
            "elevation_m": place.elevation,
            "zone": place.zone,
        },
        "issued_at": iso(outlook.now),
        "until": iso(outlook.until),
        "weather": {
            "source": weather.source,
            "licence": weather.licence,
            "newest": iso(weather.issued),
            "age_h": number(weather.age_hours),
            "first_hour": iso(weather.first_hour),
            "last_hour": iso(weather.last_hour),
            "wind_height_m": 10,
            "traces": weather.traces,
            "invented": weather.invented,
            "warnings": list(weather.warnings),
            "notes": list(weather.notes),
        },
        "season_break": {
            "day": None if broke is None else str(broke),
            "how": outlook.season_break_how,
        },
        "own_choices": [
            {
                "limit": choice.limit,
                "bound": choice.stated.value,
                "unit": choice.stated.unit,
                "holds": choice.holds,
                "source": choice.stated.source,
            }
            for choice in outlook.own_choices
        ],
        "paddocks": [paddock_tree(paddock) for paddock in outlook.paddocks],
        "cautions": list(outlook.cautions),
    }


def paddock_tree(paddock: PaddockOutlook) -> dict[str, Any]:
    """One paddock as plain values."""
    stage = paddock.stage
    return {
        "name": paddock.name,
        "hectares": number(paddock.hectares),
        "weed": paddock.weed,
        "weed_name": paddock.weed_name,
        "other_weeds": list(paddock.other_weeds),
        "note": paddock.note,
        "fault": paddock.fault,
        "id": paddock.id,
        **after_tree(paddock),
        "near": [_near(near) for near in paddock.near],
        "barred_wind": None
        if paddock.barred_wind is None
        else [
            {"from_deg": arc.first, "to_deg": arc.last} for arc in paddock.barred_wind
        ],
        "heads": None
        if stage is None
        else {
            "by": "model" if paddock.look is None else "look and model",
            "bbch": dict(
                zip(
                    ("early", "likely", "late"),
                    (None if each is None else int(each)
                     for each in (stage.early, stage.likely, stage.late)),
                    strict=True,
                )
            ),
            "words": dict(zip(("early", "likely", "late"), stage.words, strict=True)),
            "half_headed": _likely(stage.half_headed),
            "patchy": stage.patchy,
        },
        "look": None if paddock.look is None else _look(paddock.look),
        "uneven": None
        if paddock.uneven is None
        else {
            "spread_factor": number(paddock.uneven.factor),
            "chance": number(paddock.uneven.chance),
            "choices": [choice.value for choice in paddock.uneven.choices],
        },
        "warning": paddock.warning,
        "stock": None if paddock.stock is None else _stock(paddock.stock),
        "actives": [active_tree(active) for active in paddock.actives],
    }  # fmt: skip


def _near(near: NearView) -> dict[str, Any]:
    return {
        "name": near.name,
        "kind": near.kind,
        "care_m": near.care,
        "distance_m": number(near.distance),
        "bearing_deg": number(near.bearing),
    }


def _look(look: LookView) -> dict[str, Any]:
    return {
        "at": iso(look.moment),
        "heads": look.heads,
        "small": look.small,
        "recent": look.recent,
        "next_stage": look.stage_words,
        "before": _likely(look.before),
        "after": _likely(look.after),
        "surprising": look.surprising,
    }


def active_tree(active: ActiveOutlook) -> dict[str, Any]:
    """One active as plain values."""
    return {
        "active": active.active,
        "mode": active.mode,
        "status": active.status.value,
        "toxicity_window": active.toxicity,
        "window": None if active.window is None else _window(active.window),
        "days_to_close": None
        if active.days_to_close is None
        else _days(active.days_to_close),
        "chance_open_now": number(active.chance_open_now),
        "chance_open": [
            {"at": iso(moment), "chance": number(chance)}
            for moment, chance in active.chance_open
        ],
        "blocks": [block_tree(block) for block in active.blocks],
        "look_first": [block_tree(block) for block in active.look_first],
        "daylight_hours": active.hours,
        "barred_by": [_bar(bar) for bar in active.bars],
        "next": {
            "step": active.step.value,
            "against": None
            if active.against is None
            else {"row": active.against.row, "advice": active.against.advice},
            "block": None
            if active.step_block is None
            else {
                "start": iso(active.step_block.start),
                "end": iso(active.step_block.end),
            },
        },
        "effect": None if active.effect is None else _effect(active.effect),
        "withholding": {
            "says": active.withholding.says.value,
            "days": active.withholding.days,
        },
        "week": [
            {
                "start": iso(run.start),
                "end": iso(run.end),
                "verdict": VERDICT_WORDS[run.verdict],
                "daylight": run.daylight,
            }
            for run in active.week
        ],
    }


def _effect(effect: EffectView) -> dict[str, Any]:
    return {
        "published": effect.published,
        "best": None if effect.best is None else _day_effect(effect.best),
        "blocks": [_day_effect(each) for each in effect.blocks],
    }


def _day_effect(effect: DayEffect) -> dict[str, Any]:
    return {
        "at": iso(effect.at),
        "seed_prevented": _band(effect.prevented),
        "seedlings_next_year": _band(effect.seedlings),
    }


def _band(band: Band | None) -> dict[str, Any] | None:
    if band is None:
        return None
    return {
        "low": number(band.low),
        "likely": number(band.likely),
        "high": number(band.high),
    }


def _stock(stock: StockView) -> dict[str, Any]:
    effect, grazed = stock.grazing, stock.grazing.grazed
    return {
        **stock_off_tree(stock.off),
        "grazing": None
        if grazed is None
        else {
            "how": grazed.how.value,
            "from": str(grazed.start),
            "until": None if grazed.end is None else str(grazed.end),
            "dse_per_ha": number(stock.grazing_rate),
            "effect": effect.case.value,
            "spread_factor": effect.spread,
            "later_cd": effect.shift,
        },
    }


def stock_off_tree(off: StockOff) -> dict[str, Any]:
    """When stock must leave, as plain values; dates on the farm's calendar."""
    return {
        "status": off.status.value,
        "heading": {
            name: None if day is None else str(day)
            for name, day in off.heading._asdict().items()
        },
        "off": {
            "early": _off_band(off.early),
            "likely": _off_band(off.likely),
            "late": _off_band(off.late),
        },
        "days_left": off.days_left,
        "alert_days": off.alert,
        "clashes": [
            {
                "kind": clash.kind.value,
                "mob": clash.stay.mob,
                "dse": clash.stay.dse,
                "from": str(clash.stay.start),
                "until": str(clash.stay.end),
            }
            for clash in off.clashes
        ],
    }


def _off_band(band: OffBand | None) -> dict[str, str] | None:
    if band is None:
        return None
    return {"first": str(band.first), "last": str(band.last)}


def block_tree(block: BlockView) -> dict[str, Any]:
    """One block as plain values."""
    return {
        "start": iso(block.start),
        "end": iso(block.end),
        "verdict": VERDICT_WORDS[block.verdict],
        "in_likely_window": block.in_window,
        "chance": number(block.chance),
        "lead_days": number(block.lead_days),
        "firmness": firmness(block.lead_days),
        "wind_from_deg": number(block.wind_from),
        "wind_speed_10m_ms": [number(value) for value in block.wind_speed],
        "delta_t_k": [number(value) for value in block.delta_t],
        "reasons": [reason_tree(reason) for reason in block.reasons],
        "ended_by": {
            "before": None if block.before is None else reason_tree(block.before),
            "after": None if block.after is None else reason_tree(block.after),
        },
    }


def reason_tree(reason: Reason) -> dict[str, Any]:
    """A reason as plain values; numbers in the unit of the quantity inside."""
    limit = reason.limit
    return {
        "limit": limit.id,
        "quantity": limit.quantity.value,
        "rank": limit.rank.value,
        "why": reason.why.name.lower(),
        "value": number(reason.value),
        "side": limit.side.value,
        "bound": limit.bound,
        "margin": number(reason.margin),
        "stated": f"{limit.stated.value:g} {limit.stated.unit}",
        "source": limit.stated.source,
        "text": reason_words(reason),
    }


def _bar(bar: Bar) -> dict[str, Any]:
    return {
        "limit": bar.limit.id,
        "why": bar.why.name.lower(),
        "verdict": VERDICT_WORDS[bar.verdict],
        "hours": bar.hours,
    }


def _window(window: WindowView) -> dict[str, Any]:
    return {
        "open": _likely(window.open),
        "best_from": _likely(window.best_from),
        "best_until": _likely(window.best_until),
        "closed": _likely(window.closed),
    }


def _likely(edge: Likely) -> dict[str, Any]:
    return {
        "early": iso(edge.early),
        "likely": iso(edge.likely),
        "late": iso(edge.late),
    }


def _days(days: Days) -> dict[str, Any]:
    return {
        "early": number(days.early),
        "likely": number(days.likely),
        "late": number(days.late),
    }
