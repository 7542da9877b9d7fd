"""One line for a phone: lengths counted by the published rules of short messages."""

from __future__ import annotations

import pytest
from hostile_names import HOSTILE
from hypothesis import given
from hypothesis import strategies as st

from forecaster.render.phone import CHECK, fits, phone_line, places
from forecaster.render.phone_fit import Part
from forecaster.settings.names import name_fault

BLOCK = (
    Part("glyphosate Wed 12-6 pm,", 0),
    Part("SW 16 km/h.", 1),
    Part("Only block before it shuts (7 in 10).", 2),
    Part("Count heads first.", 3),
)


def octets(text: str) -> int:
    r"""What a message carries of ``text``, counted another way.

    3GPP TS 23.038: 7 bits a character of the default alphabet, two such for ^{}\[~]|€;
    else 16 bits a unit of UCS-2. The alphabet here: printable ASCII less the grave
    accent, and the letters of the table that this program's words could hold.
    """
    gsm = {chr(code) for code in range(32, 127)} - {"`"} | set(
        "£¥§èéùìòàäöñüÄÖÑÜßåÅæÆøØ€"
    )
    if set(text) <= gsm:
        return -(-7 * sum(2 if letter in "^{}\\[~]|€" else 1 for letter in text) // 8)
    return 2 * sum(2 if ord(letter) > 0xFFFF else 1 for letter in text)


def test_there_are_forty_names_and_a_farm_file_takes_each() -> None:
    """Hostile, but names: none is refused for an invisible character."""
    assert len(HOSTILE) == len(set(HOSTILE)) == 40
    assert [name for name in HOSTILE if name_fault(name)] == []


def test_the_line_of_a_block() -> None:
    """Everything fits, in order, and it ends at the site."""
    line = phone_line("Back Road", BLOCK[:3], hours=True)
    assert line == (
        "Back Road: glyphosate Wed 12-6 pm, SW 16 km/h. Only block before it shuts "
        "(7 in 10). Check at the site."
    )


@pytest.mark.parametrize(
    ("text", "taken", "there"),
    [
        ("a" * 160, 160, 160),
        ("€", 2, 160),
        ("[x]", 5, 160),
        ("£é", 2, 160),
        ("ê", 1, 70),
        ("`", 1, 70),
        ("…", 1, 70),
        ("🐑", 2, 70),
    ],
)
def test_places(text: str, taken: int, there: int) -> None:
    """3GPP TS 23.038: 160 of the default alphabet, extension twice; else 70."""
    assert places(text) == (taken, there)


@pytest.mark.parametrize("name", HOSTILE)
def test_every_name_is_one_message_with_its_check(name: str) -> None:
    """At most 140 octets, nothing lost of what must stay, and no broken character."""
    line = phone_line(name, BLOCK, hours=True)
    assert octets(line) <= 140
    assert line.endswith(CHECK)
    assert ("Wed 12-6 pm, SW 16" in line) != ("Wed 12-6 pm. " in line)
    line.encode("utf-8")
    head = line.split(": glyphosate")[0]
    whole = " ".join(name.split())
    assert head == whole or whole.startswith(head.rstrip("….").rstrip())


def test_the_least_needed_goes_first() -> None:
    """A long name costs the count of heads, then the only block, then the wind."""
    seen = [
        tuple(
            part.words.rstrip(",") in phone_line("n" * size, BLOCK, hours=True)
            for part in BLOCK
        )
        for size in range(1, 130)
    ]
    assert list(dict.fromkeys(seen)) == [
        (True, True, True, True),
        (True, True, True, False),
        (True, True, False, False),
        (True, False, False, False),
    ]


def test_a_name_is_cut_between_words() -> None:
    """And only then inside one."""
    name = "Old homestead flat " * 8
    line = phone_line(name, BLOCK, hours=True)
    head = line.split(": glyphosate")[0]
    assert head.endswith("...")
    assert name.startswith(f"{head.removesuffix('...')} ")
    assert phone_line("w" * 200, BLOCK, hours=True).startswith("www")


def test_good_is_never_said_without_the_site() -> None:
    """Whoever says it."""
    assert phone_line("Dam", [Part("Good hours Wed.", 0)]).endswith(CHECK)
    assert CHECK not in phone_line("Good Dam", [Part("count heads.", 0)])


def test_what_cannot_fit_is_refused() -> None:
    """Rather than cut in the middle of an hour."""
    with pytest.raises(ValueError, match="too long for a phone"):
        phone_line("Dam", [Part("x" * 200, 0)])


@given(
    st.text(st.characters(codec="utf-8"), min_size=1, max_size=120),
    st.lists(st.integers(0, 3), min_size=4, max_size=4),
)
def test_any_name_fits(name: str, spares: list[int]) -> None:
    """One line, one message, the block and the check whole."""
    parts = [
        Part(part.words, 0 if i == 0 else 1 + spares[i]) for i, part in enumerate(BLOCK)
    ]
    line = phone_line(name, parts, hours=True)
    assert fits(line)
    assert len(line.splitlines()) == 1
    assert BLOCK[0].words.rstrip(",") in line
    assert line.endswith(CHECK)
