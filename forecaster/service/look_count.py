"""From what a person typed to a look of the log."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from hashlib import sha256
from typing import TYPE_CHECKING, TypeAlias

from forecaster.domain.growth.look import Look
from forecaster.domain.growth.look_log import LookEntry
from forecaster.errors import UsageError
from forecaster.service.farm_sprayed import sprayed_before
from forecaster.service.look_dates import Counted, Present, counted_at, earlier_season
from forecaster.settings.names import name_fault, plain, same_name, text_fault
from forecaster.settings.record_rules import after_numbers
from forecaster.settings.stage_words import class_name, classes_of, remark_on
from forecaster.store.look_lines import MOST_HEADS

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Iterator, Sequence
    from pathlib import Path

    from forecaster.domain.growth.weed import Weed
    from forecaster.settings.farm import Farm, Paddock

LONGEST_TEXT = 500
"""Characters of a note, a reason or a path."""
_ID_DIGITS = 8
_ID_PART = 20

TypedCounts: TypeAlias = tuple[tuple[str, int], ...]
"""Stage words as typed, each with its heads."""


@dataclass(frozen=True, slots=True)
class About:
    """What a look carries besides its counts."""

    author: str
    note: str = ""
    photo: str = ""


@dataclass(frozen=True, slots=True)
class Prepared:
    """A look ready to be written down, and what to say of it."""

    entry: LookEntry
    remarks: tuple[str, ...] = ()


def prepared(
    farm: Farm,
    where: tuple[Paddock, Weed],
    typed: TypedCounts,
    counted: Counted,
    about: About,
    *,
    present: Present,
) -> Prepared:
    """A look as it will be written.

    Raises
    ------
    UsageError
        If a word is no stage, or no head was counted where none was sprayed.
    """
    paddock, weed = where
    remarks = remarks_on(typed)
    counts = classes_of(typed)
    sprayed = sprayed_before(paddock, counted.day)
    if not sum(count for _, count in counts) and sprayed is None:
        raise UsageError(
            f"no head of {weed.id} was counted; give a count above 0, such as "
            '"not out=30" if none is out yet. Only after a spray does a count of 0 '
            "say something: that none escaped"
        )
    if earlier_season(farm, counted, present):
        remarks = (*remarks, f"{counted.day} lies in an earlier season")
    if sprayed is not None:
        remarks = (*remarks, *_since_spray(counted.day, sprayed))
    classes = " ".join(f"{class_name(each)}={count}" for each, count in counts)
    words = (same_name(paddock.name), weed.id, counted.stated, classes)
    look = Look(
        id=_id(counted, paddock, weed, (*words, same_name(about.author))),
        paddock=paddock.name,
        weed=weed.id,
        moment=counted.moment,
        counts=counts,
        author=about.author,
        note=about.note,
        photo=about.photo,
    )
    return Prepared(LookEntry(look, typed, present.clock), remarks)


def _since_spray(day: dt.date, sprayed: dt.date) -> Iterator[str]:
    """What a count tells of a paddock that was sprayed before."""
    since, soonest = (day - sprayed).days, after_numbers().second_look[0]
    if since < soonest.low:
        yield (
            f"it was sprayed {since} d before: heads still die, so this count tells "
            f"nothing of what escaped; count again {soonest.value:g} d after the spray"
        )
    else:
        yield "it was sprayed before: this counts what escaped, and moves no date"


def count_of(word: str, text: str) -> tuple[str, int]:
    """A stage word, its spaces made single, and its count.

    Raises
    ------
    UsageError
        If the count is not a whole number of 0 or more.
    """
    name = " ".join(word.split())
    shown = f"{plain(name)[1:-1]} = {plain(text.strip())[1:-1]}"
    if not re.fullmatch(r"[0-9]{1,18}", text.strip()):
        raise UsageError(f"{shown}: allowed is a whole number of heads, 0 or more")
    if int(text) > MOST_HEADS:
        raise UsageError(f"{shown}: allowed is up to {MOST_HEADS:,} heads")
    return name, int(text)


def weed_called(farm: Farm, paddock: Paddock, text: str) -> Weed:
    """A weed of the paddock by its id, name or Latin name.

    Raises
    ------
    UsageError
        If the paddock has none such, with the nearest names.
    """
    wanted = same_name(text.replace("_", " ").replace("-", " "))
    names = {
        same_name(name.replace("_", " ").replace("-", " ")): weed
        for weed in farm.weeds.values()
        for name in (weed.latin, weed.name, weed.id)
    }
    weed = names.get(wanted)
    here = ", ".join(paddock.weeds)
    if weed is None:
        near = difflib.get_close_matches(wanted, names, n=3, cutoff=0.5)
        ids = list(dict.fromkeys(names[each].id for each in near))
        hint = f"did you mean {' or '.join(ids)}? " if ids else ""
        raise UsageError(
            f"no weed is called {plain(text)}; {hint}{paddock.name}: {here}"
        )
    if weed.id not in paddock.weeds:
        raise UsageError(
            f"{paddock.name} has no {weed.id} in the farm file, only {here}; if it "
            "grows there, add it to the paddock's weeds first"
        )
    return weed


def checked_author(text: str, what: str = "--by") -> str:
    """Who counted, or an error.

    Raises
    ------
    UsageError
        If it is empty, too long or holds invisible characters.
    """
    fault = name_fault(text)
    if fault:
        raise UsageError(f"{what} {plain(text)}: {fault}")
    return text.strip()


def checked_text(text: str, what: str) -> str:
    """A line of free text, such as a note.

    Raises
    ------
    UsageError
        If it is too long or holds invisible characters.
    """
    if len(text) > LONGEST_TEXT:
        raise UsageError(
            f"{what} has {len(text)} characters; allowed is up to {LONGEST_TEXT}"
        )
    fault = text_fault(text)
    if fault:
        raise UsageError(f"{what} {plain(text)}: {fault}")
    return text.strip()


def user_name() -> str | None:
    """What the system calls the person at the keyboard, or None."""
    import getpass

    try:
        name = getpass.getuser()
    except (OSError, KeyError, ImportError):  # Python before 3.13 raises the latter
        return None
    return None if name_fault(name) else name


def photo_path(farm: Farm, typed: str, base: Path) -> tuple[str, str | None]:
    """How the path of a photo is kept, and what to say if it is not there.

    ``base`` is the folder a short path is meant from. Inside the farm's folder the
    path is kept as seen from there, so the folder may move.
    """
    if not typed:
        return "", None
    path = base / typed
    try:
        if not path.exists():
            return typed, f"there is no photo {plain(str(path), 120)}; its name is kept"
        whole, home = path.resolve(), farm.folder.resolve()
    except (OSError, ValueError, RuntimeError):
        return (
            typed,
            f"the photo {plain(typed, 120)} cannot be looked at; kept as typed",
        )
    inside = whole.is_relative_to(home)
    return (whole.relative_to(home).as_posix() if inside else str(whole)), None


def remarks_on(typed: Iterable[tuple[str, int]]) -> tuple[str, ...]:
    """What to say of words that are read as something a little different.

    Raises
    ------
    UsageError
        If a word is no stage.
    """
    try:
        found = [remark_on(word) for word, _ in typed]
    except ValueError as error:
        raise UsageError(str(error)) from None
    return tuple(dict.fromkeys(each for each in found if each))


def counted_when(text: str | None, farm: Farm, present: Present) -> Counted:
    """What ``--on`` stands for."""
    return counted_at(text, farm, present, "--on")


def _id(counted: Counted, paddock: Paddock, weed: Weed, words: Sequence[str]) -> str:
    """A name any system takes; the same look gets the same one.

    Note and photo have no part in it: who mends a slip in a note and enters the
    sheet again has not counted again.
    """
    legible = [
        re.sub(r"[^a-z0-9]+", "-", each.lower())[:_ID_PART].strip("-")
        for each in (paddock.name, weed.id)
    ]
    digest = sha256("\0".join(words).encode("utf-8", "surrogatepass")).hexdigest()
    parts = [str(counted.day), *legible, digest[:_ID_DIGITS]]
    return "-".join(each for each in parts if each)
