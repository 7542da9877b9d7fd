"""Conditions of the decision table that ask where the heads stand."""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.domain.choice.judged import Judged, known, needs, no
from forecaster.domain.planning.windows import Status

if TYPE_CHECKING:
    from forecaster.domain.choice.facts import ActiveHere, Facts, Heads

HALF = 0.5
"""[share] of heads from which a paddock stands at a stage. As in the outlook."""
ALL = 0.95
"""[share] of heads called all of them. Assumed: what a count of 100 can tell."""
DOUGH_BEGUN = 0.2
"""[share] of heads at dough from which days are few; where the weed files end the best
days of a contact active. Assumed."""
STAGES_APART = 7.0
"""[d] between half-headed dates from which weeds differ in stage. Assumed."""
OPEN = frozenset({Status.OPEN, Status.CLOSING})
AHEAD = frozenset({Status.NOT_OPEN, Status.OPENING_SOON})
NO_HEADS = "where the heads stand: count some"


def all_hard(facts: Facts, active: ActiveHere | None) -> Judged:
    """All seed of the target is hard."""
    del active
    heads = facts.main.heads
    if heads is None:
        return needs(NO_HEADS)
    return known(heads.hard >= ALL, f"{_pct(heads.hard)} of heads have hard seed")


def heads_not_out(facts: Facts, active: ActiveHere | None) -> Judged:
    """Fewer than half of the target's heads are out of the sheath."""
    del active
    heads = facts.main.heads
    if heads is None:
        return needs(NO_HEADS)
    return known(heads.headed < HALF, f"{_pct(heads.headed)} of heads are out")


def heading_or_flower(facts: Facts, active: ActiveHere | None) -> Judged:
    """The target heads or flowers: half are out, and not yet half hold grain."""
    del active
    return _stands(facts, lambda each: each.headed >= HALF > _grain(each))


def headed(facts: Facts, active: ActiveHere | None) -> Judged:
    """Half of the target's heads are out."""
    del active
    return _stands(facts, lambda each: each.headed >= HALF)


def in_milk(facts: Facts, active: ActiveHere | None) -> Judged:
    """Half of the target's heads hold grain, and not yet half are at dough."""
    del active
    return _stands(facts, lambda each: _grain(each) >= HALF > each.dough + each.hard)


def in_dough(facts: Facts, active: ActiveHere | None) -> Judged:
    """A fifth of the target's heads are at dough or past it."""
    del active
    return _stands(facts, lambda each: each.dough + each.hard >= DOUGH_BEGUN)


def before_dough(facts: Facts, active: ActiveHere | None) -> Judged:
    """Not yet a fifth of the target's heads are at dough."""
    del active
    return _stands(facts, lambda each: each.dough + each.hard < DOUGH_BEGUN)


def all_out(facts: Facts, active: ActiveHere | None) -> Judged:
    """Nearly every head is out of the sheath."""
    del active
    heads = facts.main.heads
    if heads is None:
        return needs(NO_HEADS)
    return known(heads.headed >= CONTACT_OUT, f"{_pct(heads.headed)} of heads are out")


CONTACT_OUT = 0.8
"""[share] of heads out from which a contact active meets nearly all. Dowling et al.
2009: best with 80–90 % of tillers showing heads (silver grass, seen in excerpt)."""


def uneven(facts: Facts, active: ActiveHere | None) -> Judged:
    """Heads are spread too widely for one spray."""
    del active
    if facts.uneven is None:
        return needs("how evenly heads come: count some")
    words = "too widely spread" if facts.uneven else "even enough"
    return known(facts.uneven, f"heads counted are {words}")


def even(facts: Facts, active: ActiveHere | None) -> Judged:
    """Heads are even enough for one spray."""
    found = uneven(facts, active)
    return Judged(None if found.holds is None else not found.holds, found.seen)


def weeds_differ(facts: Facts, active: ActiveHere | None) -> Judged:
    """Another weed of the paddock heads a week or more apart from the target."""
    del active
    others = [each for each in facts.weeds if each.id != facts.target]
    if not others:
        return no("one weed only")
    main = facts.main.half_headed
    if main is None or any(each.half_headed is None for each in others):
        return needs("when each weed comes into head")
    apart = [
        (each.name, each.half_headed - main)
        for each in others
        if each.half_headed is not None
    ]
    far = [pair for pair in apart if abs(pair[1]) >= STAGES_APART]
    return known(bool(far), "; ".join(_apart(*pair) for pair in far or apart))


def window_open(facts: Facts, active: ActiveHere | None) -> Judged:
    """The active's stage window is likely open."""
    return _window(facts, active, OPEN)


def window_ahead(facts: Facts, active: ActiveHere | None) -> Judged:
    """The active's stage window has yet to open."""
    return _window(facts, active, AHEAD)


def window_over(facts: Facts, active: ActiveHere | None) -> Judged:
    """The active's stage window is over."""
    return _window(facts, active, frozenset({Status.CLOSED}))


def windows_over(facts: Facts, active: ActiveHere | None) -> Judged:
    """The stage window of every active that controls the target is over."""
    del active
    standing = [each.status for each in facts.actives if each.controls]
    if Status.UNKNOWN in standing:
        return needs("where the stage windows stand")
    over = bool(standing) and all(each is Status.CLOSED for each in standing)
    return known(over, "windows: " + (", ".join(standing) or "none on this weed"))


def no_block(facts: Facts, active: ActiveHere | None) -> Judged:
    """A block long enough has less than 3 chances in 10 before the window shuts."""
    del facts
    if active is None or active.block is None:
        return needs("hours up to the likely close")
    low, high = active.block
    if low < FEW <= high:
        return needs("a firmer chance: between the two bounds")
    return known(high < FEW, f"a long enough block: {_tenths(low, high)}")


FEW = 0.3
"""[share] of chance below which no block is to be counted on. Assumed."""


def _window(
    facts: Facts, active: ActiveHere | None, wanted: frozenset[Status]
) -> Judged:
    del facts
    if active is None or active.status is Status.UNKNOWN:
        return needs("where the stage window stands")
    return known(active.status in wanted, f"{active.id}: window {active.status}")


def _stands(facts: Facts, rule: _Rule) -> Judged:
    heads = facts.main.heads
    if heads is None:
        return needs(NO_HEADS)
    return known(rule(heads), _heads_words(heads))


def _grain(heads: Heads) -> float:
    return heads.milk + heads.dough + heads.hard


def _heads_words(heads: Heads) -> str:
    shares = (
        ("not out", heads.not_out),
        ("heading or in flower", heads.out),
        ("in milk", heads.milk),
        ("in dough", heads.dough),
        ("hard", heads.hard),
    )
    return ", ".join(
        f"{_pct(share)} {name}" for name, share in shares if share >= _TELL
    )


_TELL = 0.005


def _tenths(low: float, high: float) -> str:
    """Never a bare percentage: few read one under 50 aright."""
    ends = [f"{10 * low:.0f}", f"{10 * high:.0f}"]
    return f"{' to '.join(dict.fromkeys(ends))} in 10"


def _pct(share: float) -> str:
    return f"{100 * share:.0f} %"


def _apart(name: str, days: float) -> str:
    when = "after" if days > 0 else "before"
    return f"{name} heads {abs(days):.0f} days {when} it"


if TYPE_CHECKING:
    from collections.abc import Callable

    _Rule = Callable[[Heads], bool]
