"""Growth of spring lost to spraying, and what it is in days of feed."""

from __future__ import annotations


def growth_lost(hectares: float, growth: float, share: float) -> float:
    """Growth lost, in kg DM: area × growth of the time left × share of it.

    Parameters
    ----------
    hectares : float
        Sprayed. [ha]
    growth : float
        What would still grow without spraying. [kg DM/ha]
    share : float
        Of it that is lost. [share 0…1]
    """
    return hectares * growth * share


def days_of_feed(amount: float, dse: float, intake: float) -> float:
    """How long it would have fed the stock, in days.

    Parameters
    ----------
    amount : float
        [kg DM]
    dse : float
        Stock in dry sheep equivalents.
    intake : float
        What each eats and spoils. [kg DM/DSE/d]
    """
    return amount / (dse * intake)


def head_per_hectare(
    on_offer: float,
    leave: float,
    growth: float,
    days: float,
    intake: float,
    *,
    spoilage: float = 0.0,
) -> float:
    """Stock that the feed of a hectare carries for some days.

    (on offer − to be left + days × growth) ÷ (intake × days × (1 + spoilage)), as
    the worked example of *Making more from sheep*, tool 8.4, has it; never below 0.

    Parameters
    ----------
    on_offer, leave : float
        [kg DM/ha]
    growth : float
        [kg DM/ha/d]
    days : float
        Above 0.
    intake : float
        Of one animal. [kg DM/d]
    spoilage : float
        Trampled and fouled, as a share of the intake.
    """
    there = max(on_offer - leave + days * growth, 0.0)
    return there / (intake * days * (1.0 + spoilage))
