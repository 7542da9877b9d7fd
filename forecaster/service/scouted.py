"""Looks of a farm turned into what is believed of each weed in each paddock."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from forecaster.domain.growth.belief import Belief
from forecaster.domain.growth.scouting import Count, Estimate, Prior, update
from forecaster.domain.growth.sharing import (
    Kin,
    Site,
    told_by_the_rest,
    told_elsewhere,
)
from forecaster.service.moments import local_day
from forecaster.settings.names import same_name

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from forecaster.domain.growth.look import Look, LookNumbers
    from forecaster.domain.growth.season import Projection
    from forecaster.domain.weather import Floats
    from forecaster.settings.farm import Farm, Paddock
    from forecaster.sources.season import Season

SURPRISE = 3.0
"""Standard deviations of δ beyond which a look and the model do not agree."""
ROUNDS = 2
"""How often what looks told each other is worked out: after two, means and standard
deviations lie within 0.5 % of the exact ones (tests/domain/growth/test_sharing.py)."""


@dataclass(frozen=True, slots=True)
class Scouted:
    """One weed in one paddock that has been looked at."""

    looks: tuple[Look, ...]
    """In the order of their dates."""
    counts: tuple[Count, ...]
    """The same, as the model reads them."""
    prior: Prior
    """Before any look."""
    others: Prior
    """Before its own looks, after those at other weeds and paddocks."""
    estimate: Estimate
    """After all of them."""

    @property
    def surprising(self) -> bool:
        """Whether the looks lie far outside what the model holds possible."""
        away = abs(float(self.estimate.mean[0]) - self.prior.shift_mean)
        return away > SURPRISE * self.prior.sd

    def before_latest(self) -> Estimate:
        """What was believed before its latest look."""
        return update(self.others, self.counts[:-1])


@dataclass(frozen=True, slots=True)
class Scouting:
    """What the looks of a season say of every weed in every paddock."""

    numbers: LookNumbers
    pairs: dict[tuple[str, str], Scouted] = field(default_factory=dict)
    """By paddock, as :func:`same_name` writes it, and weed."""
    unused: tuple[str, ...] = ()
    """Looks that say nothing, and why."""
    _sites: tuple[Site, ...] = ()
    """One for each of ``pairs``, in their order."""
    _after: dict[str, tuple[Look, ...]] = field(default_factory=dict)
    """By paddock, as :func:`same_name` writes it: looks since its spray."""

    def since_spray(self, paddock: Paddock) -> tuple[Look, ...]:
        """Looks at a sprayed paddock since, in the order of their dates.

        They count what escaped, and say nothing of when heads ripen.
        """
        return self._after.get(same_name(paddock.name), ())

    def of(self, paddock: Paddock, weed: str) -> Scouted | None:
        """The looks at one weed in one paddock."""
        return self.pairs.get((same_name(paddock.name), weed))

    def belief(self, paddock: Paddock, weed: str, prior: Belief) -> Belief:
        """What is believed of a weed in a paddock; ``prior`` before any look."""
        own = self.of(paddock, weed)
        if own is not None:
            return self.believed(own.estimate)
        if not self.pairs:
            return prior
        kin = self._kin()
        pair = _kin([(same_name(paddock.name), weed)], prior.covariance[:, 0, 0] ** 0.5)
        moved, sd = told_elsewhere(
            _covariance(self.numbers, pair, kin), pair.sd,
            _covariance(self.numbers, kin, kin),
            *_measured(self._sites),
        )  # fmt: skip
        mean, covariance = prior.mean.copy(), prior.covariance.copy()
        mean[:, 0] += moved
        covariance[:, 0, 0] = sd**2
        return Belief(mean, covariance, self.numbers.floor.value)

    def believed(self, estimate: Estimate) -> Belief:
        """An estimate of one paddock as a projection takes it."""
        return Belief(
            estimate.mean[None], estimate.covariance[None], self.numbers.floor.value
        )

    def chance_uneven(self, scouted: Scouted) -> float:
        """Chance that heads are spread wider than even heads are."""
        return scouted.estimate.chance_wider(self.numbers.uneven.value)

    def _kin(self) -> Kin:
        sds = [each.prior.sd for each in self.pairs.values()]
        return _kin(list(self.pairs), np.array(sds))


def scout(
    farm: Farm,
    looks: Iterable[Look],
    season: Season,
    now: np.datetime64,
    projection: Callable[[str, Paddock], Projection],
) -> Scouting:
    """What ``looks`` of this season say.

    Parameters
    ----------
    farm, season : Farm, Season
        Whose paddocks, and their clock.
    looks : iterable of Look
        Looks of other seasons, or after ``now``, are passed over.
    now : datetime64
        UTC.
    projection : callable
        The projection of a weed (id) in a paddock before any look.
    """
    paddocks = {same_name(each.name): each for each in farm.paddocks}
    found: dict[tuple[str, str], list[tuple[Look, Count]]] = {}
    priors: dict[tuple[str, str], Prior] = {}
    unused: list[str] = []
    after: dict[str, tuple[Look, ...]] = {}
    for look in sorted(looks, key=lambda each: (each.moment, each.id)):
        day = season.day_of(look.moment)
        if not day >= 0 or look.moment > now:
            continue
        key = (same_name(look.paddock), look.weed)
        if key[0] not in paddocks or look.weed not in farm.weeds:
            unused.append(f"look {look.id}: no such paddock or weed in the farm file")
            continue
        if _since_spray(look, paddocks[key[0]], farm.place.zone):
            after[key[0]] = (*after.get(key[0], ()), look)
            continue
        if not look.heads:  # none escaped, of a spray that no longer stands
            continue
        base = projection(look.weed, paddocks[key[0]])
        at = float(np.median(base.thermal_time(day)))
        if not np.isfinite(at):
            unused.append(f"look {look.id}: {_why(at, look)}")
            continue
        priors.setdefault(key, _prior(base, farm.look_numbers.spread_sd.value))
        count = Count.of(look, base.weed, at)
        found.setdefault(key, []).append((look, count))
    known = _estimated(farm.look_numbers, priors, found, tuple(unused))
    return replace(known, _after=after)


def _since_spray(look: Look, paddock: Paddock, zone: str) -> bool:
    """Whether it counts what a spray left: from the day after on."""
    sprayed = paddock.sprayed
    return sprayed is not None and local_day(look.moment, zone) > sprayed


def _why(at: float, look: Look) -> str:
    if np.isnan(at):
        return "the season's warmth up to it is not known"
    return (
        f"by the model {look.weed} had not come up by then; check its date and the "
        "autumn break"
    )


def _prior(base: Projection, spread_sd: float) -> Prior:
    mean, covariance = base.belief.mean[0], base.belief.covariance[0]
    return Prior(
        base.weed,
        shift_mean=float(mean[0]),
        shift_sd=float(covariance[0, 0] ** 0.5),
        spread=float(mean[2]),
        spread_sd=spread_sd,
        late_factor=float(np.median(base.late_factor)),
    )


def _estimated(
    numbers: LookNumbers,
    priors: dict[tuple[str, str], Prior],
    found: dict[tuple[str, str], list[tuple[Look, Count]]],
    unused: tuple[str, ...],
) -> Scouting:
    if not found:
        return Scouting(numbers, unused=unused)
    counts = {key: tuple(count for _, count in each) for key, each in found.items()}
    kin = _kin(list(found), np.array([priors[key].sd for key in found]))
    covariance = _covariance(numbers, kin, kin)
    others = [priors[key] for key in found]
    for _ in range(ROUNDS):
        known = [
            update(prior, counts[key]) for key, prior in zip(found, others, strict=True)
        ]
        sites = tuple(
            _site(before, after, priors[key], numbers.floor.value)
            for key, before, after in zip(found, others, known, strict=True)
        )
        rest = told_by_the_rest(covariance, *_measured(sites))
        others = [
            replace(prior, shift_mean=prior.shift_mean + away, shift_sd=sd)
            for prior, away, sd in zip(
                (priors[key] for key in found), *map(np.ndarray.tolist, rest),
                strict=True,
            )
        ]  # fmt: skip
    pairs = {
        key: Scouted(
            looks=tuple(look for look, _ in found[key]),
            counts=counts[key],
            prior=priors[key],
            others=prior,
            estimate=update(prior, counts[key]),
        )
        for key, prior in zip(found, others, strict=True)
    }
    return Scouting(numbers, pairs, unused, sites)


def _site(before: Prior, after: Estimate, first: Prior, floor: float) -> Site:
    """What a pair's own looks measured, whatever it knew before them."""
    middle = first.shift_mean
    return Site.between(
        (before.shift_mean - middle, before.sd),
        (float(after.mean[0]) - middle, float(after.covariance[0, 0] ** 0.5)),
        floor=floor,
    )


def _covariance(numbers: LookNumbers, pair: Kin, other: Kin) -> Floats:
    return pair.covariance(
        other,
        same_paddock=numbers.same_paddock.value,
        same_weed=numbers.same_weed.value,
    )


def _kin(pairs: list[tuple[str, str]], sd: Floats) -> Kin:
    paddocks, weeds = zip(*pairs, strict=True)
    return Kin(np.array(paddocks), np.array(weeds), sd)


def _measured(sites: tuple[Site, ...]) -> tuple[Floats, Floats]:
    return (
        np.array([each.away for each in sites]),
        np.array([each.sd for each in sites]),
    )
