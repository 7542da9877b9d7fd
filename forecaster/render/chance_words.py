"""What chances are made from, as words and as plain values."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from forecaster.render import words

if TYPE_CHECKING:
    from forecaster.domain.spraying.chance_basis import ChanceBasis, ErrorLine

PAGE = "docs/method/chance.md"


def sentence(basis: ChanceBasis) -> str:
    """From how many forecasts, whose, and whether their errors are measured."""
    if not basis.errors:
        return "No chance is told: no number of the label is confirmed."
    if basis.members:
        made = (
            f"Chances are the mean over {basis.members} forecasts ({basis.source}). "
            "They differ by less than forecasts err, so each is spread by what they "
            "lack of the error of one forecast of their age."
        )
    else:
        made = (
            f"Chances are made from one forecast ({basis.source}) and its error, which "
            "grows with its age."
        )
    return f"{made} {_known(basis)}"


def _known(basis: ChanceBasis) -> str:
    measured = [words.short(each.quantity) for each in basis.errors if each.measured]
    if not measured:
        return "The errors are assumed, not measured here."
    rest = "" if len(measured) == len(basis.errors) else "; others are assumed"
    return f"Errors of {', '.join(measured)} were measured here{rest}."


def lines(basis: ChanceBasis) -> list[str]:
    """The error of each quantity, age by age, and where it comes from."""
    return [line for each in basis.errors for line in words.bullet(_line(each))]


def _line(line: ErrorLine) -> str:
    unit, factor = words.unit_of(line.quantity)
    sizes = ", ".join(f"{size * factor:.1f}" for size in line.size)
    days = ", ".join(f"{day:g}" for day in line.lead_days)
    source = f"measured: {line.measured}" if line.measured else f"{PAGE} [assumed]"
    return f"{words.short(line.quantity)}: error {sizes}{unit} at {days} days. {source}"


def tree(basis: ChanceBasis) -> dict[str, Any]:
    """The basis as plain dicts and lists; sizes in the unit inside."""
    return {
        "members": basis.members,
        "source": basis.source,
        "errors": [
            {
                "quantity": line.quantity.value,
                "lead_days": list(line.lead_days),
                "size": [round(size, 4) for size in line.size],
                "measured": line.measured or None,
            }
            for line in basis.errors
        ],
    }
