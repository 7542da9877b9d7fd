"""What each weather service gives and on which terms: facts with their pages.

Terms change; the pages named are the authority, and the user agrees with them, not
this program.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from forecaster.domain.sourced import Mark
from forecaster.sources import (
    metno,
    openmeteo,
    openmeteo_archive,
    openmeteo_ensemble,
    openmeteo_forecast,
    openmeteo_previous,
    silo,
)

if TYPE_CHECKING:
    from collections.abc import Mapping


@dataclass(frozen=True, slots=True)
class Fact:
    """One condition, and where it is published."""

    text: str
    page: str
    mark: Mark


@dataclass(frozen=True, slots=True)
class Terms:
    """A service as a user meets it.

    ``base_urls`` are by product. ``key`` and ``contact`` say who needs one; empty =
    nobody. ``attribution`` is printed beside the data. ``asked`` says when this program
    asks it, and so why it may not; empty = always.
    """

    name: str
    gives: str
    licence: Fact
    attribution: str
    conditions: tuple[Fact, ...]
    base_urls: Mapping[str, str]
    key: str = ""
    contact: str = ""
    asked: str = ""


_OPEN_METEO_TERMS = "https://open-meteo.com/en/terms"
_OPEN_METEO_LICENCE = "https://open-meteo.com/en/license"
_OPEN_METEO_STATUS = "https://open-meteo.com/en/docs/model-updates"
_MET_TERMS = "https://api.met.no/doc/TermsOfService"
_MET_LICENCE = "https://api.met.no/doc/License"
_MET_MODEL = "https://api.met.no/doc/locationforecast/datamodel"
_SILO_QUESTIONS = "https://www.longpaddock.qld.gov.au/silo/faq/"
_SILO_CODE = "R package weatherOz (rOpenSci), documentation and recorded answers"
_SILO_REST = "R package cropgrowdays, documentation"
_PUBLISHED = Mark.PUBLISHED
_EXCERPT = Mark.EXCERPT

OPEN_METEO: Final = Terms(
    name="Open-Meteo",
    gives=(
        "hourly forecasts to 16 days, ensemble members, temperature 80 m up, earlier "
        "forecasts of past hours, and hours of past years back to 1940"
    ),
    licence=Fact("CC BY 4.0", _OPEN_METEO_TERMS, _PUBLISHED),
    attribution=openmeteo.LICENCE,
    conditions=(
        Fact(
            "the free hosts are for non-commercial use only; whether a farm's own use "
            "is that is for the farm to judge",
            _OPEN_METEO_TERMS,
            _PUBLISHED,
        ),
        Fact(
            "free use: fewer than 600 calls a minute, 5,000 an hour and 10,000 a day",
            _OPEN_METEO_TERMS,
            _PUBLISHED,
        ),
        Fact(
            "a call counts as max(1, v/10, v/10 × d/14) calls for v variables × "
            "members × models and d days",
            "open-meteo/open-meteo, server source",
            _EXCERPT,
        ),
        Fact(
            "the status of a model counts as no call",
            _OPEN_METEO_STATUS,
            _PUBLISHED,
        ),
        Fact(
            "the attribution stands next to the data, with a link",
            _OPEN_METEO_LICENCE,
            _EXCERPT,
        ),
    ),
    base_urls=MappingProxyType(
        {
            "forecast": openmeteo_forecast.HOST,
            "status": openmeteo_forecast.HOST,
            "profile": openmeteo_forecast.HOST,
            "ensemble": openmeteo_ensemble.HOST,
            "archive": openmeteo_archive.HOST,
            "previous runs": openmeteo_previous.HOST,
        }
    ),
    key="for commercial use: a paid key, sent to the customer- hosts",
)
MET_NORWAY: Final = Terms(
    name=metno.NAME,
    gives="forecasts to about 10 days: hourly for some 60 h, then every 6 h",
    licence=Fact("NLOD 2.0 and CC BY 4.0", _MET_LICENCE, _PUBLISHED),
    attribution=metno.LICENCE,
    conditions=(
        Fact(
            "every request names the program and a mail address or site; who cannot "
            "be reached risks being blocked, who makes one up is banned",
            _MET_TERMS,
            _PUBLISHED,
        ),
        Fact(
            "do not repeat a request before the time in Expires, then ask with "
            "If-Modified-Since; no bursts on the hour",
            _MET_TERMS,
            _PUBLISHED,
        ),
        Fact(
            "at most 20 requests a second for the whole application, all users "
            "together",
            _MET_TERMS,
            _PUBLISHED,
        ),
        Fact("coordinates have at most 4 decimals", _MET_TERMS, _PUBLISHED),
        Fact(
            "outside the Nordic and Arctic areas: ECMWF, about 9 km, 4 updates a day, "
            "some variables missing",
            _MET_MODEL,
            _PUBLISHED,
        ),
    ),
    base_urls=MappingProxyType({"locationforecast": metno.HOST}),
    contact="always: a mail address or web site, in the User-Agent header",
    asked="when Open-Meteo gives no whole forecast and its last is over 12 h old",
)
SILO: Final = Terms(
    name=silo.NAME,
    gives=(
        "daily maximum, minimum and rain of Australia on a 0.05 degree grid, 1889 to "
        "about yesterday; no wind, no hours"
    ),
    licence=Fact("CC BY 4.0", _SILO_CODE, _EXCERPT),
    attribution=silo.LICENCE,
    conditions=(
        Fact(
            "an e-mail address goes with every request, so that the service can reach "
            "its users",
            _SILO_QUESTIONS,
            _EXCERPT,
        ),
        Fact(
            "the number and size of requests are watched, and heavy users blocked",
            _SILO_QUESTIONS,
            _EXCERPT,
        ),
        Fact(
            "the address serves to reach you about the service and its data; else it "
            "is used only where the law demands it",
            _SILO_QUESTIONS,
            _EXCERPT,
        ),
        Fact(
            "it may rest for maintenance from 11 am to 1 pm, Brisbane time, on "
            "Wednesdays and Thursdays",
            _SILO_REST,
            _EXCERPT,
        ),
        Fact(
            "recent days change for months as stations report",
            "https://www.longpaddock.qld.gov.au/silo/about/data-updates/",
            _EXCERPT,
        ),
    ),
    base_urls=MappingProxyType({"days": silo.HOST}),
    contact="always: an e-mail address, sent as the user name",
    asked=(
        "where the farm lies in its grid (112 to 154° E, 10 to 44° S), weather.contact "
        "is an e-mail address and weather.silo is not false: once a week, the season "
        "and past years in one answer"
    ),
)
TERMS: Final[Mapping[str, Terms]] = MappingProxyType(
    {openmeteo.SOURCE: OPEN_METEO, metno.SOURCE: MET_NORWAY, silo.SOURCE: SILO}
)
"""By :attr:`forecaster.sources.request.Request.source`."""
