"""The decision table asked of one paddock: stops first, then the first row that fits.

An unknown stop never lets a favourable row win in silence: it is handed back as not
checked. Bars take an active out; additions go with whatever wins.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from forecaster.domain.choice.conditions import CONDITIONS
from forecaster.domain.choice.rows import Answer, Kind, Row, Table

if TYPE_CHECKING:
    from collections.abc import Iterable

    from forecaster.domain.choice.facts import ActiveHere, Facts
    from forecaster.domain.choice.judged import Judged


@dataclass(frozen=True, slots=True)
class Asked:
    """One row asked of the paddock, or of one active in it."""

    row: Row
    active: str | None
    seen: tuple[tuple[str, Judged], ...]
    """Each condition by its name."""

    @property
    def holds(self) -> bool | None:
        """Whether all conditions hold; None where that hangs on what is not known."""
        found = [judged.holds for _, judged in self.seen]
        if False in found:
            return False
        return None if None in found else True

    @property
    def missing(self) -> tuple[tuple[str, Judged], ...]:
        """The conditions that do not hold, or are not known to."""
        return tuple(each for each in self.seen if not each[1].holds)


@dataclass(frozen=True, slots=True)
class OfActive:
    """What the table says of one active by itself."""

    active: str
    answer: Answer
    by: Asked | None
    """None: no row names it as things stand."""


@dataclass(frozen=True, slots=True)
class Choice:
    """What the table says of one paddock."""

    answer: Answer
    fired: Asked | None
    """None: no row could be found to hold."""
    also: tuple[Asked, ...]
    """Other stops that hold."""
    added: tuple[Asked, ...]
    """What goes with it."""
    not_checked: tuple[Asked, ...]
    """Stops and bars that could not be judged."""
    unknown: tuple[Asked, ...]
    """Choices that could not be judged."""
    actives: tuple[OfActive, ...]
    changes: tuple[Asked, ...]
    """Rows that would win if the one condition they lack held."""
    then: Asked | None
    """What would win if the fired row did not hold."""


def decide(table: Table, facts: Facts) -> Choice:
    """Ask the whole table.

    Parameters
    ----------
    table : Table
        Rows in their order.
    facts : Facts
        What is known of the paddock.

    Returns
    -------
    Choice
        ``fired`` is the first stop that holds, a bar where it leaves no active, else
        the first choice that holds for an active left; actives whose resistance is
        suspected come last.
    """
    choice = _decided(table, facts)
    if choice.fired is None:
        return choice
    row = choice.fired.row.id
    rest = tuple(each for each in table.rows if each.id != row)
    return replace(choice, then=_decided(replace(table, rows=rest), facts).fired)


def against(table: Table, facts: Facts, active: str) -> Asked | None:
    """The first bar of one active that holds, else the first stop; None: neither.

    What :func:`decide` says of it, without the rest of the table: outlooks ask this
    of every active of every paddock.
    """
    own = next(each for each in facts.actives if each.id == active)
    for kind in (Kind.BAR, Kind.STOP):
        for row in table.rows:
            if row.kind is kind and row.mode in {None, own.mode}:
                found = _asked(row, facts, own if row.about_active else None)
                if found.holds:
                    return found
    return None


def _decided(table: Table, facts: Facts) -> Choice:
    asked = [each for row in table.rows for each in _ask(row, facts)]
    stops = [each for each in asked if each.row.kind is Kind.STOP]
    choices = [each for each in asked if each.row.kind is Kind.CHOOSE]
    barred = _barred(asked)
    left = [each.id for each in facts.actives if each.id not in barred]
    holding = [each for each in stops if each.holds]
    leaving_none = [] if left else list(barred.values())
    blocking = sorted(holding + leaving_none, key=lambda each: _place(table, each.row))
    free = [each for each in choices if each.active in left]
    favoured = sorted(free, key=lambda each: _doubted(each, asked))
    picked = blocking or [each for each in favoured if each.holds]
    fired = picked[0] if picked else None
    return Choice(
        answer=Answer.UNKNOWN if fired is None else fired.row.answer,
        fired=fired,
        also=tuple(each for each in blocking[1:] if each.row.kind is Kind.STOP),
        added=_added(asked, fired, left),
        not_checked=tuple(
            each
            for each in asked
            if each.holds is None and each.row.kind in {Kind.STOP, Kind.BAR}
        ),
        unknown=tuple(each for each in free if each.holds is None),
        actives=tuple(
            _of_active(each.id, barred, holding, choices) for each in facts.actives
        ),
        changes=_changes(table, asked, fired, left),
        then=None,
    )


def _ask(row: Row, facts: Facts) -> Iterable[Asked]:
    if not row.about_active:
        yield _asked(row, facts, None)
        return
    for active in facts.actives:
        if row.mode in {None, active.mode}:
            yield _asked(row, facts, active)


def _asked(row: Row, facts: Facts, active: ActiveHere | None) -> Asked:
    seen = tuple((name, CONDITIONS[name](facts, active)) for name in row.conditions)
    return Asked(row, None if active is None else active.id, seen)


def _barred(asked: list[Asked]) -> dict[str, Asked]:
    """The first bar of each active that has one."""
    found: dict[str, Asked] = {}
    for each in asked:
        if each.row.kind is Kind.BAR and each.holds and each.active is not None:
            found.setdefault(each.active, each)
    return found


def _doubted(each: Asked, asked: list[Asked]) -> bool:
    """Whether a row says to prefer another active over this one."""
    return any(
        other.row.prefer_other and other.holds and other.active == each.active
        for other in asked
    )


def _added(
    asked: list[Asked], fired: Asked | None, left: list[str]
) -> tuple[Asked, ...]:
    """Additions about the active that fired, about any left where none did."""
    about = left if fired is None or fired.active is None else [fired.active]
    return tuple(
        each
        for each in asked
        if each.row.kind is Kind.ADD
        and each.holds
        and (each.active is None or each.active in about)
    )


def _of_active(
    active: str, barred: dict[str, Asked], stops: list[Asked], choices: list[Asked]
) -> OfActive:
    if active in barred:
        return OfActive(active, barred[active].row.answer, barred[active])
    if stops:
        return OfActive(active, stops[0].row.answer, stops[0])
    own = [each for each in choices if each.active == active]
    first = next((each for each in own if each.holds), None)
    if first is not None:
        return OfActive(active, first.row.answer, first)
    unknown = next((each for each in own if each.holds is None), None)
    return OfActive(active, Answer.UNKNOWN, unknown)


def _changes(
    table: Table, asked: list[Asked], fired: Asked | None, left: list[str]
) -> tuple[Asked, ...]:
    """Rows one condition short that would come before the fired one."""
    choosing = fired is None or fired.row.kind is Kind.CHOOSE
    end = len(table.rows) if fired is None else _place(table, fired.row)

    def wins(each: Asked) -> bool:
        if each.row.kind is Kind.STOP:
            return choosing or _place(table, each.row) < end
        if each.row.kind is Kind.BAR:
            return choosing and each.active in left
        usable = each.active in left
        return choosing and usable and _place(table, each.row) < end

    return tuple(
        each
        for each in asked
        if each.row.kind is not Kind.ADD and len(each.missing) == 1 and wins(each)
    )


def _place(table: Table, row: Row) -> int:
    return table.rows.index(row)
