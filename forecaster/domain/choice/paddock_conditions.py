"""Conditions of the decision table that ask about the paddock, its sward and stock."""

from __future__ import annotations

from typing import TYPE_CHECKING

from forecaster.domain.choice.facts import Clover, CloverStage, Resists
from forecaster.domain.choice.judged import Judged, known, needs, no, yes

if TYPE_CHECKING:
    from forecaster.domain.choice.facts import ActiveHere, Facts

FEWEST_PERENNIALS = 5.0
"""[plants/m²] below which perennials do not fill the gap. From 5 to 8 a square metre
recover (industry manual on pastures, seen in excerpt); the low end is used."""
YOUNG = 12.0
"""[months] Assumed; winter cleaning has the same limit (industry course, excerpt)."""
SMALL = 20.0
"""[ha] Assumed."""
RUNNING = 2
"""Springs after which the same active wants a test before a third. Assumed."""
CAPEWEED = "capeweed"


def no_label(facts: Facts, active: ActiveHere | None) -> Judged:
    """No confirmed label of the active, or the weed is not on it."""
    if active is None:
        return needs("an active")
    if not active.label:
        return yes(f"{active.id}: no label typed and confirmed in full")
    words = "is on" if active.on_label else "is not on"
    return known(
        not active.on_label, f"{facts.main.name} {words} the label of {active.id}"
    )


def toxicity(facts: Facts, active: ActiveHere | None) -> Judged:
    """Annual ryegrass toxicity is known here."""
    del active
    words = "is" if facts.toxicity else "is not"
    return known(facts.toxicity, f"ryegrass toxicity {words} flagged")


def no_toxicity(facts: Facts, active: ActiveHere | None) -> Judged:
    """No annual ryegrass toxicity is flagged."""
    found = toxicity(facts, active)
    return Judged(not found.holds, found.seen)


def resists(facts: Facts, active: ActiveHere | None) -> Judged:
    """Resistance of the weed to the active is confirmed."""
    del facts
    if active is None or active.resists is None:
        return needs("whether the weed resists the active: a test, or survivors")
    return known(
        active.resists is Resists.CONFIRMED, f"{active.id}: {active.resists} here"
    )


def may_resist(facts: Facts, active: ActiveHere | None) -> Judged:
    """Resistance of the weed to the active is suspected, and untested."""
    del facts
    if active is None or active.resists is None:
        return needs("whether the weed resists the active: a test, or survivors")
    return known(
        active.resists is Resists.SUSPECTED, f"{active.id}: resistance {active.resists}"
    )


def third_spring(facts: Facts, active: ActiveHere | None) -> Judged:
    """It would be a third spring running with the active, without a test."""
    del facts
    if active is None:
        return needs("an active")
    if active.resists is Resists.CLEAR:
        return no(f"{active.id}: tested clear here")
    if active.springs is None:
        return needs("what was used here in the last springs")
    return known(
        active.springs >= RUNNING, f"{active.id}: used {active.springs} springs running"
    )


def feed_short(facts: Facts, active: ActiveHere | None) -> Judged:
    """Feed runs short within six weeks."""
    del active
    if facts.feed_short is None:
        return needs("whether feed runs short within six weeks")
    words = "runs short" if facts.feed_short else "does not run short"
    return known(facts.feed_short, f"feed {words} within six weeks")


def priority_stock(facts: Facts, active: ActiveHere | None) -> Judged:
    """Stock that come first depend on this paddock."""
    del active
    if facts.priority_stock is None:
        return needs("whether stock that come first depend on this paddock")
    words = "depend" if facts.priority_stock else "do not depend"
    return known(facts.priority_stock, f"stock that come first {words} on it")


def few_perennials(facts: Facts, active: ActiveHere | None) -> Judged:
    """Fewer perennials than recover by themselves."""
    del active
    count = facts.sward.perennials_per_m2
    if facts.sward.perennials is False and count is None:
        return yes("no perennials")
    if count is None:
        return needs("perennials a square metre")
    return known(count < FEWEST_PERENNIALS, f"{count:g} perennials/m²")


def thin_clover(facts: Facts, active: ActiveHere | None) -> Judged:
    """Clover is too thin to fill the gap, or there is none."""
    del active
    if facts.sward.clover is Clover.NONE:
        return yes("no clover")
    if facts.sward.clover_thin is None:
        return needs("whether the clover is thin")
    words = "is" if facts.sward.clover_thin else "is not"
    return known(facts.sward.clover_thin, f"clover {words} thin")


def no_sowing(facts: Facts, active: ActiveHere | None) -> Judged:
    """No sowing is planned."""
    del active
    if facts.sward.to_be_sown is None:
        return needs("whether the paddock is to be sown")
    words = "is" if facts.sward.to_be_sown else "is not"
    return known(not facts.sward.to_be_sown, f"the paddock {words} to be sown")


def capeweed(facts: Facts, active: ActiveHere | None) -> Judged:
    """Capeweed is the weed that matters most."""
    del active
    return known(facts.target == CAPEWEED, f"{facts.main.name} matters most")


def not_capeweed(facts: Facts, active: ActiveHere | None) -> Judged:
    """Another weed matters most."""
    found = capeweed(facts, active)
    return Judged(not found.holds, found.seen)


def clover_no_concern(facts: Facts, active: ActiveHere | None) -> Judged:
    """No clover seed is at stake: none wanted, past flowering, or sown out."""
    found = clover_at_stake(facts, active)
    return Judged(None if found.holds is None else not found.holds, found.seen)


def clover_at_stake(facts: Facts, active: ActiveHere | None) -> Judged:
    """Wanted clover has yet to set its seed."""
    del active
    sward = facts.sward
    if sward.to_be_sown:
        return no("the paddock is to be sown out")
    if sward.clover is None:
        return needs("whether clover is wanted")
    if sward.clover is not Clover.WANTED:
        words = "no clover" if sward.clover is Clover.NONE else "clover is not wanted"
        return no(words)
    if sward.clover_stage is None:
        return needs("whether the clover flowers")
    return known(
        sward.clover_stage is not CloverStage.PAST,
        f"clover is wanted and {sward.clover_stage}",
    )


def loss_accepted(facts: Facts, active: ActiveHere | None) -> Judged:
    """The loss of clover seed is accepted by who runs the farm."""
    del active
    words = "is" if facts.sward.loss_accepted else "is not"
    return known(facts.sward.loss_accepted, f"the loss of clover seed {words} accepted")


def late_accepted(facts: Facts, active: ActiveHere | None) -> Judged:
    """A weaker effect at milk is accepted by who runs the farm."""
    del active
    words = "is" if facts.accepts_late else "is not"
    return known(facts.accepts_late, f"a weaker, late effect {words} accepted")


def no_contact(facts: Facts, active: ActiveHere | None) -> Judged:
    """No contact active may be used here on the weed."""
    del active
    usable = [
        each.id for each in facts.actives
        if each.mode == "contact" and each.controls and each.label and each.on_label
        and each.resists is not Resists.CONFIRMED
    ]  # fmt: skip
    return known(not usable, f"contact: {', '.join(usable) or 'none usable here'}")


def perennials_wanted(facts: Facts, active: ActiveHere | None) -> Judged:
    """There are perennials to keep."""
    del active
    if facts.sward.to_be_sown:
        return no("the paddock is to be sown out")
    if facts.sward.perennials is None:
        return needs("whether there are perennials to keep")
    words = "perennials to keep" if facts.sward.perennials else "no perennials to keep"
    return known(facts.sward.perennials, words)


def young_sward(facts: Facts, active: ActiveHere | None) -> Judged:
    """The perennials were sown less than a year ago."""
    del active
    if facts.sward.perennials is False or facts.sward.to_be_sown:
        return no("no perennials to keep")
    age = facts.sward.age_months
    if age is None:
        return needs("when the perennials were sown")
    words = "long ago" if age == float("inf") else f"{age:.0f} months ago"
    return known(age < YOUNG, f"sown {words}")


def long_lived(facts: Facts, active: ActiveHere | None) -> Judged:
    """A good share of next year's seedlings come from older seed."""
    del active
    words = "much" if facts.long_lived else "little"
    return known(facts.long_lived, f"{words} of its seed lives on to later years")


def same_again(facts: Facts, active: ActiveHere | None) -> Judged:
    """The same active was used last spring."""
    del facts
    if active is None or active.springs is None:
        return needs("what was done here last spring")
    words = "was" if active.springs else "was not"
    return known(active.springs > 0, f"{active.id} {words} used here last spring")


def small_paddock(facts: Facts, active: ActiveHere | None) -> Judged:
    """The paddock is small."""
    del active
    return known(facts.hectares < SMALL, f"{facts.hectares:g} ha")


def sheep_enough(facts: Facts, active: ActiveHere | None) -> Judged:
    """There are sheep enough to graze instead."""
    del active
    if facts.sheep is None:
        return needs("whether there are sheep enough")
    return known(facts.sheep, "sheep enough" if facts.sheep else "too few sheep")
