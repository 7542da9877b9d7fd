"""What people call the stages of a head, read into the classes of the model."""

from __future__ import annotations

import difflib
import re
from typing import TYPE_CHECKING

from forecaster.domain.growth.heads import STAGES
from forecaster.domain.growth.stage import Stage
from forecaster.settings.names import plain
from forecaster.settings.weeds import STAGE_NAMES

if TYPE_CHECKING:
    from collections.abc import Iterable

    from forecaster.domain.growth.look import LookClass

NOT_OUT = "not_out"
"""How files write the class of heads that are not out yet."""

CLASSES: dict[str, LookClass] = {NOT_OUT: None, **STAGE_NAMES}
"""Every class by the name files give it, in the order a head meets them."""

TRADE_WORDS: dict[str, LookClass] = {
    "not_out_yet": None,
    "not_headed": None,
    "vegetative": None,
    "boot": None,
    "peeping": Stage.HEADING,
    "headed": Stage.HEADING,
    "dough": Stage.SOFT_DOUGH,
    "ripe": Stage.HARD_DOUGH,
}
"""Other words in use, by the class they are read as. Common practice, no source."""

LAST_CODE = 99
"""The BBCH scale ends here (Lancashire et al. 1991; from memory)."""

_ASSUMED = {
    "peeping": "strictly only the tip shows; heading is half of the head",
    "dough": "if nails leave no lasting mark; else say hard dough",
}
_CODE = re.compile(r"(?:bbch\s*)?([0-9]{1,2})", re.IGNORECASE | re.ASCII)


def class_of(word: str) -> LookClass:
    """The class a word or BBCH code stands for; None is *not out yet*.

    Words may be in any case, with spaces, hyphens or underscores. A code counts to
    the last stage of the model at or below it.

    Raises
    ------
    ValueError
        If it is neither; the message names near words and all there are.
    """
    code = _CODE.fullmatch(word.strip())
    if code:
        reached = [stage for stage in STAGES if stage <= int(code[1])]
        return reached[-1] if reached else None
    known = CLASSES | TRADE_WORDS
    name = _flat(word)
    if name in known:
        return known[name]
    near = difflib.get_close_matches(name, known, n=2, cutoff=0.6)
    hint = f"did you mean {' or '.join(map(spoken, near))}? " if near else ""
    raise ValueError(
        f"{plain(word)} is no stage; {hint}known are "
        f"{', '.join(map(spoken, known))}, and BBCH codes 0 to {LAST_CODE}"
    )


def remark_on(word: str) -> str | None:
    """What to say of a word that is read as something a little different."""
    found = class_of(word)
    here = spoken(class_name(found))
    code = _CODE.fullmatch(word.strip())
    if code and found is not None and int(code[1]) != found:
        return f"{int(code[1])} is counted to {here}, the last stage it has reached"
    if _flat(word) in _ASSUMED:
        return f"{_flat(word)} is read as {here} (assumed): {_ASSUMED[_flat(word)]}"
    return None


def classes_of(
    typed: Iterable[tuple[str, int]],
) -> tuple[tuple[LookClass, int], ...]:
    """Counts by class in the order a head meets them; words of one class add up.

    Who counts only heads that are not out says that none is, so heading is then
    told apart too.

    Raises
    ------
    ValueError
        If a word is no stage.
    """
    sums: dict[LookClass, int] = {}
    for word, count in typed:
        found = class_of(word)
        sums[found] = sums.get(found, 0) + count
    if set(sums) == {None}:
        sums[Stage.HEADING] = 0
    return tuple((each, sums[each]) for each in CLASSES.values() if each in sums)


def class_name(which: LookClass) -> str:
    """The name files give a class."""
    return NOT_OUT if which is None else which.name.lower()


def spoken(name: str) -> str:
    """``late milk`` for ``late_milk``."""
    return name.replace("_", " ")


def _flat(word: str) -> str:
    return re.sub(r"[\s_-]+", "_", word.strip().casefold())
