"""Advice and data limits from ``config/limits/*.toml``."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Literal, Self, get_args

from pydantic import Field, RootModel, model_validator

from forecaster.domain.growth.weed import Mode
from forecaster.domain.spraying.limits import Limit, Quantity, Rank, Side, Verdict
from forecaster.errors import Fault, SettingsError
from forecaster.settings.document import Strict, read_document, validate
from forecaster.settings.numbers import SourcedNumber

if TYPE_CHECKING:
    from pathlib import Path

MODES: tuple[Mode, ...] = get_args(Mode)

ON_MISSING = {
    "pass over": Verdict.GOOD,
    "look first": Verdict.LOOK_FIRST,
    "unknown": Verdict.UNKNOWN,
}
"""What an hour becomes where the quantity of a limit is not known."""


class LimitEntry(Strict):
    """One table of a limits file."""

    quantity: Quantity
    side: Side
    rank: Rank
    words: Annotated[str, Field(min_length=3)]
    modes: list[Mode] = Field(default_factory=lambda: list(MODES), min_length=1)
    missing: Literal["pass over", "look first", "unknown"] = "unknown"
    error: SourcedNumber
    bound: SourcedNumber

    @model_validator(mode="after")
    def _units(self) -> Self:
        for number in (self.bound, self.error):
            number.inside(self.quantity)
        if self.rank is Rank.LAW and self.quantity is not Quantity.WIND_SIDE:
            raise ValueError(
                "rank = law or label is only for the wind side; a label's number is "
                "typed in the farm file, from the label"
            )
        if self.error.value <= 0:
            raise ValueError("error must be above 0")
        return self

    def limit(self, name: str) -> Limit:
        """The limit as the domain reads it."""
        return Limit(
            id=name,
            quantity=self.quantity,
            side=self.side,
            bound=self.bound.inside(self.quantity),
            stated=self.bound.sourced(),
            rank=self.rank,
            words=self.words,
            error=self.error.inside(self.quantity),
            on_missing=ON_MISSING[self.missing],
        )


class LimitsFile(RootModel[dict[str, LimitEntry]]):
    """A file of limits, one table each."""


def load_limits(folder: Path) -> dict[Mode, tuple[Limit, ...]]:
    """The limits of every file in ``folder``, by the mode of active they apply to.

    Raises
    ------
    SettingsError
        If a limit is unsourced, in a wrong unit, or named twice.
    """
    limits: dict[Mode, list[Limit]] = {mode: [] for mode in MODES}
    seen: dict[str, Path] = {}
    for path in sorted(folder.glob("*.toml")):
        document = read_document(path)
        for name, entry in validate(document, LimitsFile).root.items():
            if name in seen:
                message = f"limit {name} is already in {seen[name]}; rename one"
                raise SettingsError([document.fault((name,), message)])
            seen[name] = path
            for mode in entry.modes:
                limits[mode].append(entry.limit(name))
    if not seen:
        raise SettingsError([Fault(str(folder), 0, 0, "holds no limits (*.toml)")])
    return {mode: tuple(found) for mode, found in limits.items()}
