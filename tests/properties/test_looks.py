"""Promises of the log of looks: what is typed comes back, whatever it is."""

from __future__ import annotations

import json
import unicodedata
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from forecaster.cli.main import exit_code
from forecaster.domain.growth.count_shares import shares_past
from forecaster.domain.growth.look import Look
from forecaster.domain.growth.look_log import LookEntry
from forecaster.domain.growth.stage import Stage
from forecaster.domain.withdrawal import Withdrawal
from forecaster.settings.names import name_fault, text_fault
from forecaster.settings.stage_words import CLASSES, class_name, class_of, classes_of
from forecaster.sources.sheet_rows import read_sheet, sheet_text, untamed
from forecaster.store.look_lines import (
    look_line,
    read_line,
    withdrawal_line,
)
from forecaster.store.looks import _log
from forecaster.store.sealed_line import UnreadableLine

if TYPE_CHECKING:
    from forecaster.settings.farm import Farm

MOMENTS = st.integers(631_152_000, 4_102_444_800).map(
    lambda second: np.datetime64(second, "s")
)
NAMES = st.text(min_size=1, max_size=80).filter(lambda text: name_fault(text) is None)
TEXTS = st.text(max_size=200).filter(lambda text: text_fault(text) is None)
HEADS = st.integers(0, 100_000)
CLASS_NAMES = st.sampled_from(list(CLASSES))
COUNTS = st.dictionaries(CLASS_NAMES, HEADS, min_size=1)


@st.composite
def entries(draw: st.DrawFn) -> LookEntry:
    """Any look the program may write."""
    counts = draw(COUNTS)
    look = Look(
        id=draw(st.from_regex(r"[a-z0-9][a-z0-9-]{0,63}", fullmatch=True)),
        paddock=draw(NAMES),
        weed=draw(NAMES),
        moment=draw(MOMENTS),
        counts=tuple(
            (CLASSES[each], counts[each]) for each in CLASSES if each in counts
        ),
        author=draw(NAMES),
        note=draw(TEXTS),
        photo=draw(TEXTS),
    )
    return LookEntry(look, tuple(counts.items()), draw(MOMENTS))


@given(entries())
def test_every_look_comes_back_equal(entry: LookEntry) -> None:
    """Any name, note, path and count; one line, and JSON to others."""
    line = look_line(entry)
    assert b"\n" not in line
    assert read_line(line) == entry
    assert json.loads(line)["paddock"] == entry.look.paddock


@given(entries(), NAMES, TEXTS)
def test_every_withdrawal_comes_back_equal(
    entry: LookEntry, author: str, reason: str
) -> None:
    """Any author and reason."""
    gone = Withdrawal(entry.look.id, author, reason, entry.recorded)
    assert read_line(withdrawal_line(gone)) == gone


@given(st.lists(entries(), min_size=1, max_size=5), st.data())
def test_no_damage_brings_a_look_that_nobody_wrote(
    written: list[LookEntry], data: st.DataObject
) -> None:
    """Change any one byte: a line is lost and told, or nothing is lost."""
    content = b"".join(look_line(each) + b"\n" for each in written)
    at = data.draw(st.integers(0, len(content) - 1))
    byte = data.draw(st.integers(0, 255))
    damaged = content[:at] + bytes([byte]) + content[at + 1 :]
    before, after = (_log(Path("x"), each) for each in (content, damaged))
    allowed = {repr(each.look) for each in written}
    assert {repr(each.look) for each in after.entries} <= allowed
    if len(after.entries) < len(before.entries):
        assert after.warnings


@given(st.binary(max_size=300))
def test_no_bytes_break_the_reader(content: bytes) -> None:
    """Rubbish is refused as rubbish."""
    with pytest.raises(UnreadableLine):
        read_line(content)


@given(
    CLASS_NAMES,
    st.sampled_from(["_", "-", " ", "  ", "\t"]),
    st.sampled_from([str.upper, str.lower, str.title, str.swapcase]),
)
def test_class_words_round_trip(name: str, gap: str, case: object) -> None:
    """Every class is read back from its own name, however it is spelt."""
    assert callable(case)
    assert class_name(class_of(f" {case(name.replace('_', gap))} ")) == name


@given(st.integers(0, 99), st.integers(0, 99))
def test_codes_never_run_backwards(one: int, other: int) -> None:
    """A later code is never an earlier class; the code of a stage is that stage."""
    order = list(CLASSES.values())
    first, second = sorted((one, other))
    assert order.index(class_of(str(first))) <= order.index(class_of(str(second)))
    for stage in Stage:
        assert class_of(str(int(stage))) is stage


@given(st.lists(st.tuples(st.integers(0, 99).map(str), HEADS), min_size=1))
def test_no_head_is_lost_between_words_and_classes(
    typed: list[tuple[str, int]],
) -> None:
    """The sum stays; classes come once each, in the order of the head."""
    found = classes_of(typed)
    assert sum(count for _, count in found) == sum(count for _, count in typed)
    order = [list(CLASSES.values()).index(each) for each, _ in found]
    assert order == sorted(set(order))


@settings(max_examples=50)
@given(st.lists(st.integers(0, 300), min_size=2, max_size=8).filter(any))
def test_shares_fall_along_the_head_inside_their_limits(counts: list[int]) -> None:
    """Limits are SciPy's Wilson interval and hold the share; later stages have less."""
    classes = zip(CLASSES.values(), counts, strict=False)
    moment = np.datetime64("2026-10-11", "s")
    shares = shares_past(Look("a", "b", "c", moment, tuple(classes)))
    assert [each.past for each in shares] == sorted(
        (each.past for each in shares), reverse=True
    )
    for each in shares:
        test = stats.binomtest(each.past, each.heads).proportion_ci(method="wilson")
        assert [each.low, each.high] == pytest.approx([test.low, test.high], abs=1e-12)
        assert each.low - 1e-12 <= each.share <= each.high + 1e-12


CELLS = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=30)


@settings(max_examples=50)
@given(st.lists(st.lists(CELLS, min_size=3, max_size=3), max_size=4))
def test_a_sheet_comes_back_as_it_was_printed(
    tmp_path_factory: pytest.TempPathFactory, rows: list[list[str]]
) -> None:
    """Every cell, trimmed; and no cell begins as a formula."""
    path = tmp_path_factory.mktemp("sheet") / "sheet.csv"
    text = sheet_text([["date", "paddock", "weed"], *rows])
    path.write_text(text, encoding="utf-8", newline="")
    stripped = [[each.strip() for each in row] for row in rows]
    found = read_sheet(path).rows
    assert [[untamed(cell) for cell in cells] for _, cells in found] == [
        row for row in stripped if any(row)
    ]
    for _, cells in found:
        assert not any(cell.startswith(("=", "+", "-", "@")) for cell in cells)


HOSTILE = [
    "<img src=x onerror=alert(1)>", "</script><script>", "&amp; & <b>", "'\"`",
    '=HYPERLINK("http://example.org")', "+1", "-5 acre", "@x", "=1+1", "'=x", "''",
    "Dam; END:VEVENT", "a, b\\c", "a\\", "$HOME `id` %s {0}", "{{7*7}}", "$(id)",
    "[bold red]Hill[/]", "..", "../../etc/passwd", "C:\\CON", "CON", "NUL.", "a/b",
    "Дальнее поле", "遠い畑", "مرعى الغنم", "שדה", "आम का खेत", "Cafe\u0301", "Straße",
    "Dam 🐑", "👩‍🌾 home", "🏴 x", "x" * 80, "null", "true", "1e999", "NaN", "a=b",
    "a:b=c", "not out=3", "--list", "Ω≠å", "ﬁeld", "x\u00a0y", "\ufe0fx",
]  # fmt: skip
REFUSED = [
    "a\nb", "a\rb", "a\tb", "a\x00b", "a\x1b[2J", "a\u202eb", "a\u2066b", "a\u200bb",
    "a\u2028b", "a\u2029b", "a\x85b", "a\ud800b", "\ufeffa", "", "   ", "x" * 81,
]  # fmt: skip


@pytest.fixture(scope="module")
def farm_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A farm with a paddock of each hostile name."""
    folder = tmp_path_factory.mktemp("farm")
    head = (
        '[farm]\nname = "x"\nzone = "Australia/Melbourne"\nlatitude = -37.5\n'
        'longitude = 142.3\nelevation_m = 200\n[weather]\nkind = "demo"\n'
    )
    paddocks = "".join(
        f"[[paddock]]\nname = {json.dumps(name, ensure_ascii=False)}\nhectares = 9\n"
        "weeds = { silver_grass = 35 }\n"
        for name in HOSTILE
    )
    (folder / "farm.toml").write_text(head + paddocks, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def farm(farm_folder: Path) -> Farm:
    """The same, read."""
    from forecaster.settings.farm import load_farm

    return load_farm(farm_folder)


def test_hostile_names_come_back_equal(
    farm: Farm, farm_folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Forty and more, as paddock, author, note and reason: in, listed, taken back."""
    from forecaster.service.farm_looks import load_looks

    assert len(HOSTILE) > 40
    where = ["--farm", str(farm_folder)]
    path = farm_folder / "looks.jsonl"
    for name in HOSTILE:
        told = ["--on", "2026-10-11", f"--by={name}", f"--note={name}"]
        assert exit_code(["look", *where, *told, "--", name, "55=30"]) == 0, name
    capsys.readouterr()
    assert [look.paddock for look in load_looks(farm)[0]] == HOSTILE
    assert exit_code(["look", "--list", "--format", "json", *where]) == 0
    found = json.loads(capsys.readouterr().out)["looks"]
    for key in ("paddock", "author", "note"):
        assert [each[key] for each in found] == [name.strip() for name in HOSTILE]
    ids = [each["id"] for each in found]
    assert len(set(ids)) == len(HOSTILE)
    for id_ in ids:
        assert id_.isascii()
        assert 1 <= len(id_) <= 64
        assert set(id_) <= set("abcdefghijklmnopqrstuvwxyz0123456789-")
    for id_, name in zip(ids, HOSTILE, strict=True):
        taken = ["look", "--withdraw", id_, f"--because={name}", *where]
        assert exit_code(taken) == 0
    capsys.readouterr()
    assert exit_code(["look", "--list", *where]) == 0
    out = capsys.readouterr().out
    assert all(
        letter == "\n" or unicodedata.category(letter) not in {"Cc", "Cs"}
        for letter in out
    )
    assert len(path.read_bytes().splitlines()) == 2 * len(HOSTILE)
    assert {each.name for each in farm_folder.iterdir()} - {".looks.jsonl.lock"} == {
        "farm.toml", "looks.jsonl",
    }  # fmt: skip


def test_hostile_names_pass_through_a_sheet(
    farm: Farm, farm_folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The printed sheet, filled in, names every paddock again."""
    from forecaster.service.look_sheet import empty_sheet

    printed = empty_sheet(farm)
    lines = printed.split("\r\n")
    filled = [
        lines[0],
        *(line.replace('"",', '"2026-10-10",', 1) for line in lines[1:]),
    ]
    filled = [
        line.replace('"silver_grass","",', '"silver_grass","30",') for line in filled
    ]
    path = tmp_path / "sheet.csv"
    path.write_text("\r\n".join(filled), encoding="utf-8", newline="")
    where = ["--farm", str(farm_folder), "--by", "J"]
    assert exit_code(["look", "--from", str(path), *where]) == 0, capsys.readouterr()
    capsys.readouterr()
    assert exit_code(["look", "--list", "--format", "json", *where[:2]]) == 0
    found = json.loads(capsys.readouterr().out)["looks"]
    entered = [each for each in found if each["moment"].startswith("2026-10-10")]
    assert [each["paddock"] for each in entered] == HOSTILE


@pytest.mark.parametrize("name", REFUSED, ids=ascii)
def test_what_hides_or_breaks_a_line_is_refused(
    farm_folder: Path, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    """64; line ends, controls, direction marks and lone surrogates; nothing written."""
    path = farm_folder / "looks.jsonl"
    before = path.read_bytes() if path.exists() else b""
    where = ["--farm", str(farm_folder)]
    arguments = ["look", *where, f"--by={name}", "--", HOSTILE[0], "55=30"]
    assert exit_code(arguments) == 64
    err = capsys.readouterr().err
    assert err.replace("\n", "").isprintable()
    assert (path.read_bytes() if path.exists() else b"") == before
