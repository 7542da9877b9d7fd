"""A farm into a zip and out again: the same bytes, and nothing an enemy can do."""

from __future__ import annotations

import csv
import hashlib
import io
import json
import os
import shutil
import stat
import zipfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from hostile_names import HOSTILE
from hypothesis import given, settings
from hypothesis import strategies as st
from spray_records import AT, add, entry

from forecaster.cli.main import exit_code
from forecaster.domain.record.log import Taken
from forecaster.errors import DataError, InputMissingError, OutputError
from forecaster.service.pack import pack
from forecaster.service.pack_tables import (
    HISTORY,
    RESULT_COLUMNS,
    csv_bytes,
    csv_rows,
)
from forecaster.service.unpack import unpack
from forecaster.settings.shipped import demo_folder
from forecaster.store import pack_zip
from forecaster.store.pack_names import clash, entry_fault
from forecaster.store.pack_zip import packed, unpacked

if TYPE_CHECKING:
    from collections.abc import Mapping

TOML = "farm/farm.toml"
WINDOWS_ODD = st.characters(codec="utf-8", exclude_categories=["Cs"])
PARTS = st.text(WINDOWS_ODD, min_size=1, max_size=12)
NAMES = PARTS.map(lambda part: f"farm/{part}").filter(lambda n: entry_fault(n) is None)
FILES = st.dictionaries(NAMES, st.binary(max_size=200), max_size=6).filter(
    lambda files: clash(files) is None
)


@pytest.fixture
def farm(tmp_path: Path) -> Path:
    """A farm of one's own: a copy of the demo."""
    folder = tmp_path / "farm"
    shutil.copytree(demo_folder(), folder)
    return folder


def zipped(path: Path, files: Mapping[str, bytes], *more: tuple[Any, bytes]) -> Path:
    """A zip with a right manifest, and what an enemy adds."""
    listed = [
        {"name": n, "bytes": len(c), "sha256": hashlib.sha256(c).hexdigest()}
        for n, c in sorted(files.items())
    ]
    whole = {"kind": "forecaster farm pack", "format": 1, "files": listed}
    manifest = json.dumps(whole, ensure_ascii=False, indent=1) + "\n"
    with zipfile.ZipFile(path, "w") as made:
        made.writestr("manifest.json", manifest)
        for name, content in [*files.items(), *more]:
            made.writestr(name, content)
    return path


def contents(folder: Path) -> dict[str, bytes]:
    """Every file by its name."""
    return {
        each.relative_to(folder).as_posix(): each.read_bytes()
        for each in folder.rglob("*")
        if each.is_file()
    }


def nothing_made(folder: Path, *allowed: str) -> bool:
    """Neither the folder nor anything half-written beside it."""
    return {each.name for each in folder.iterdir()} <= set(allowed)


def test_a_farm_comes_back_byte_for_byte(farm: Path, tmp_path: Path) -> None:
    """And packing it again gives the very same zip."""
    first = pack(farm)
    assert first.left_out == ()
    path = tmp_path / "farm.zip"
    path.write_bytes(first.content)
    again = tmp_path / "again"
    names = unpack(path, again)
    assert contents(again) == contents(farm)
    assert set(names) == set(contents(farm))
    assert pack(again).content == first.content == pack(farm).content


def test_the_zip_says_the_same_on_any_day(farm: Path) -> None:
    """Read by Python's own library: order, dates, no compression, right sums."""
    with zipfile.ZipFile(io.BytesIO(pack(farm).content)) as made:
        assert made.testzip() is None
        entries = made.infolist()
        manifest = json.loads(made.read("manifest.json"))
        names = [each.filename for each in entries]
        assert names == sorted(names)
        assert {each.date_time for each in entries} == {(1980, 1, 1, 0, 0, 0)}
        assert {each.compress_type for each in entries} == {zipfile.ZIP_STORED}
        for each in manifest["files"]:
            content = made.read(each["name"])
            assert len(content) == each["bytes"]
            assert hashlib.sha256(content).hexdigest() == each["sha256"]
        assert {each["name"] for each in manifest["files"]} == {*names} - {
            "manifest.json"
        }
        tree = json.loads(made.read("views/settings.json"))
        looks = made.read("views/looks.csv").decode()
    assert tree["farm"]["name"] == "Thornbill Rise"
    assert tree["paddock"][0]["grazed"][0]["from"] == "2026-08-20"
    rows = list(csv.DictReader(io.StringIO(looks, newline="")))
    lines = (farm / "looks.jsonl").read_text(encoding="utf-8").splitlines()
    kept = [json.loads(line) for line in lines]
    assert [row["id"] for row in rows] == [
        each["id"] for each in kept if each["kind"] == "look"
    ]


@settings(max_examples=60)
@given(FILES)
def test_any_files_come_back(files: dict[str, bytes]) -> None:
    """Whatever their names and bytes; the order they were given in does not matter."""
    import tempfile

    content = packed(files)
    assert packed(dict(reversed(files.items()))) == content
    with tempfile.TemporaryDirectory() as scratch:
        path = Path(scratch) / "x.zip"
        path.write_bytes(content)
        assert unpacked(path) == files


CELLS = st.text(st.characters(exclude_categories=["Cs", "Cc"]), max_size=20)


@settings(max_examples=100)
@given(st.lists(st.tuples(CELLS, CELLS, CELLS), max_size=5))
def test_any_table_comes_back(rows: list[tuple[str, str, str]]) -> None:
    """Quotes, commas, formulas and apostrophes too."""
    columns = HISTORY["messages"]
    assert csv_rows("x", csv_bytes(columns, rows), columns) == rows


def test_hostile_names_are_only_text_in_every_table() -> None:
    """Forty of them: they come back, and none begins a formula in the file."""
    columns = HISTORY["messages"]
    rows = [(name, name, json.dumps(name)) for name in HOSTILE]
    content = csv_bytes(columns, rows)
    assert csv_rows("x", content, columns) == rows
    raw = list(csv.reader(io.StringIO(content.decode(), newline="")))
    assert not [cell for row in raw for cell in row if cell[:1] in set("=+-@＝＋－＠")]


def test_hostile_names_of_paddocks_go_through_a_whole_pack(
    farm: Path, tmp_path: Path
) -> None:
    """Forty paddocks with a result each: settings and results say them as they are."""
    head = (farm / "farm.toml").read_text(encoding="utf-8").split("[[paddock]]")[0]
    body = "".join(
        f"[[paddock]]\nname = {json.dumps(name, ensure_ascii=False)}\nhectares = 9\n"
        "weeds = { capeweed = 9 }\n"
        for name in HOSTILE
    )
    text = head.replace('map = "paddocks.geojson"', "") + body
    (farm / "farm.toml").write_text(text, encoding="utf-8")
    counts = ["--treated", "1,2", "--untreated", "8,9", "--farm", str(farm), "--save"]
    for name in HOSTILE:
        assert exit_code(["result", *counts, "--", name]) == 0
    made = pack(farm)
    with zipfile.ZipFile(io.BytesIO(made.content)) as whole:
        tree = json.loads(whole.read("views/settings.json"))
        table = whole.read("views/results.csv")
    assert [each["name"] for each in tree["paddock"]] == list(HOSTILE)
    header = table.decode().split("\r\n")[0].replace('"', "").split(",")
    rows = csv_rows("x", table, tuple(header))
    assert [row[0] for row in rows] == list(HOSTILE)
    path = tmp_path / "x.zip"
    path.write_bytes(made.content)
    unpack(path, tmp_path / "again")
    assert pack(tmp_path / "again").content == made.content


def test_secrets_state_and_strangers_stay_behind(farm: Path, tmp_path: Path) -> None:
    """Not a byte of them is in the zip, whatever the farm file names."""
    (farm / "secrets.toml").write_text('phone = "hunter2://x"\n', encoding="utf-8")
    (farm / "notes.txt").write_text("hunter2", encoding="utf-8")
    (farm / ".weather").mkdir()
    (farm / ".weather" / "x.json").write_text("hunter2", encoding="utf-8")
    path = farm / "farm.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(
        text.replace('past_years = "past_years.csv"', 'past_years = "Secrets.toml"'),
        encoding="utf-8",
    )
    (farm / "Secrets.toml").write_text("hunter2", encoding="utf-8")
    made = pack(farm)
    assert b"hunter2" not in made.content
    assert any("secrets are never packed" in each for each in made.left_out)
    del tmp_path


def test_what_lies_outside_is_left_or_refused(farm: Path, tmp_path: Path) -> None:
    """A table elsewhere is left out and told; a map elsewhere is an error."""
    path = farm / "farm.toml"
    text = path.read_text(encoding="utf-8")
    (tmp_path / "out.csv").write_text("x", encoding="utf-8")
    path.write_text(
        text.replace('"past_years.csv"', '"../out.csv"').replace(
            '"hours.csv"', '"gone.csv"'
        ),
        encoding="utf-8",
    )
    told = " ".join(pack(farm).left_out)
    assert "leads out of the folder" in told
    assert "it is not there" in told
    shutil.move(farm / "paddocks.geojson", tmp_path / "map.geojson")
    path.write_text(
        text.replace('"paddocks.geojson"', '"../map.geojson"'), encoding="utf-8"
    )
    with pytest.raises(DataError, match="cannot be packed: it leads out"):
        pack(farm)


def test_a_link_is_not_followed(farm: Path, tmp_path: Path) -> None:
    """What it leads to may be anything."""
    (tmp_path / "private").write_text("hunter2", encoding="utf-8")
    (farm / "past_years.csv").unlink()
    try:
        (farm / "past_years.csv").symlink_to(tmp_path / "private")
    except OSError:
        pytest.skip("this system makes no links")
    made = pack(farm)
    assert b"hunter2" not in made.content
    assert any("is a link" in each for each in made.left_out)


def test_a_mapping_s_table_goes_along(farm: Path) -> None:
    """A station's mapping file names a table of its own."""
    path = farm / "farm.toml"
    text = path.read_text(encoding="utf-8")
    start, end = text.index("[weather]"), text.index("# What the demo's operator")
    new = '[weather]\nkind = "csv"\nfile = "maps/logger.toml"\n\n'
    path.write_text(text[:start] + new + text[end:], encoding="utf-8")
    (farm / "maps").mkdir()
    mapping = farm / "maps" / "logger.toml"
    mapping.write_text('[table]\nfile = "logger.csv"\n', encoding="utf-8")
    (farm / "maps" / "logger.csv").write_text("a,b\n", encoding="utf-8")
    assert {"farm/maps/logger.toml", "farm/maps/logger.csv"} <= set(pack(farm).names)
    mapping.write_text("no toml", encoding="utf-8")
    assert "farm/maps/logger.csv" not in pack(farm).names


def bad_name(name: str) -> Any:
    """An entry of that name."""
    return zipfile.ZipInfo(name)


def special(name: str, mode: int) -> Any:
    """An entry of another kind."""
    info = zipfile.ZipInfo(name)
    info.create_system = 3
    info.external_attr = (mode | 0o777) << 16
    return info


ENTRIES = [
    bad_name("../evil.txt"), bad_name("farm/../../evil.txt"), bad_name("/evil.txt"),
    bad_name("farm//evil.txt"), bad_name("farm/./evil.txt"), bad_name("C:/evil.txt"),
    bad_name("farm/..\\..\\evil.txt"), bad_name("farm/c:evil.txt"),
    bad_name("farm/.alerts/state.sqlite"), bad_name("farm/.hidden"),
    bad_name("farm/secrets.toml"), bad_name("farm/x/SECRETS.TOML"),
    bad_name("farm/nul.txt"), bad_name("farm/COM1"), bad_name("farm/evil."),
    bad_name("farm/evil "), bad_name("farm/a\u202eb.txt"), bad_name("evil.txt"),
    bad_name("other/evil.txt"), bad_name("farm/" + "x" * 200), bad_name("farm/"),
    bad_name("farm/" + "d/" * 9 + "x"), bad_name("farm/FARM.toml"),
    bad_name("farm/farm.toml/evil.txt"), bad_name("Manifest.json"),
    bad_name("farm/history/runs.csv"), bad_name("farm/extra.txt"),
    special("farm/link", stat.S_IFLNK), special("farm/pipe", stat.S_IFIFO),
    special("farm/folder", stat.S_IFDIR),
]  # fmt: skip


@pytest.mark.parametrize("entry", ENTRIES, ids=lambda each: ascii(each.filename)[:40])
def test_an_entry_that_may_not_be_there_refuses_the_whole(
    tmp_path: Path, entry: Any
) -> None:
    """One clear error, and not a file anywhere."""
    path = zipped(tmp_path / "x.zip", {TOML: b"x"}, (entry, b"/etc/passwd"))
    with pytest.raises(DataError, match="is refused"):
        unpack(path, tmp_path / "new")
    assert nothing_made(tmp_path, "x.zip")


def test_a_name_that_stands_twice_is_refused(tmp_path: Path) -> None:
    """The second would write over the first, which alone matches the manifest."""
    with pytest.warns(UserWarning, match="Duplicate name"):
        path = zipped(tmp_path / "x.zip", {TOML: b"x"}, (TOML, b"x"))
    with pytest.raises(DataError, match="is refused"):
        unpack(path, tmp_path / "new")


def test_a_bomb_is_refused_before_it_goes_off(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ten million zeros in ten kilobytes, with limits set low for the test."""
    path = tmp_path / "x.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as made:
        made.writestr(TOML, bytes(10_000_000))
    assert path.stat().st_size < 20_000
    monkeypatch.setattr(pack_zip, "LARGEST_FILE", 1_000_000)
    with pytest.raises(DataError, match="10,000,000 bytes; allowed"):
        unpack(path, tmp_path / "new")
    monkeypatch.setattr(pack_zip, "LARGEST_FILE", 20_000_000)
    monkeypatch.setattr(pack_zip, "LARGEST_PACK", 9_000_000)
    with pytest.raises(DataError, match="bytes in all; allowed"):
        unpack(path, tmp_path / "new")
    monkeypatch.setattr(pack_zip, "LARGEST_PACK", 1_000)
    with pytest.raises(DataError, match="too large to be a pack"):
        unpack(path, tmp_path / "new")


def test_a_bomb_that_lies_about_its_size_is_refused(tmp_path: Path) -> None:
    """The size it names is all that is ever read."""
    path = tmp_path / "x.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as made:
        made.writestr(TOML, bytes(1_000_000))
    content = path.read_bytes().replace(
        (1_000_000).to_bytes(4, "little"), (10).to_bytes(4, "little")
    )
    path.write_bytes(content)
    with pytest.raises(DataError):
        unpack(path, tmp_path / "new")
    assert nothing_made(tmp_path, "x.zip")


def test_too_many_files_are_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both ways."""
    files = {f"farm/{n}": b"" for n in range(5)}
    path = zipped(tmp_path / "x.zip", files)
    monkeypatch.setattr(pack_zip, "MOST_FILES", 3)
    with pytest.raises(DataError, match="6 files; allowed"):
        unpack(path, tmp_path / "new")
    with pytest.raises(DataError, match="5 files; allowed"):
        packed(files)


@pytest.mark.parametrize("flag", [0x1, 0x0])
def test_locked_or_strangely_compressed_entries_are_refused(
    tmp_path: Path, flag: int
) -> None:
    """Encrypted by its flag; or by a method that is not read here."""
    method = zipfile.ZIP_STORED if flag else zipfile.ZIP_BZIP2
    path = tmp_path / "x.zip"
    with zipfile.ZipFile(path, "w", method) as made:
        made.writestr(TOML, b"x")
        made.infolist()[0].flag_bits |= flag
    with pytest.raises(DataError, match=r"encrypted|not read here"):
        unpack(path, tmp_path / "new")


def tree_of(content: bytes, **change: Any) -> bytes:
    """A manifest of one file, changed."""
    sha = hashlib.sha256(content).hexdigest()
    listed = [{"name": TOML, "bytes": len(content), "sha256": sha}]
    whole = {"kind": "forecaster farm pack", "format": 1, "files": listed} | change
    return (json.dumps(whole, indent=1) + "\n").encode()


@pytest.mark.parametrize(
    ("manifest", "said"),
    [
        (tree_of(b"y"), "not as the manifest says"),
        (tree_of(b"x", files=[]), "not as the manifest says"),
        (tree_of(b"x", files=7), "not as the manifest says"),
        (tree_of(b"x") + b" ", "not as the manifest says"),
        (tree_of(b"x", format=2), "read here is format 1"),
        (tree_of(b"x", kind="other"), "read here is format 1"),
        (b"{", "manifest.json is damaged"),
        (b"[" * 100_000, "manifest.json is damaged"),
        (b"[]", "manifest.json is damaged"),
        (None, "holds no manifest.json"),
    ],
)
def test_a_manifest_that_does_not_fit_refuses_the_whole(
    tmp_path: Path, manifest: bytes | None, said: str
) -> None:
    """A changed byte, a file more or less, another format, no manifest."""
    path = tmp_path / "x.zip"
    with zipfile.ZipFile(path, "w") as made:
        made.writestr(TOML, b"x")
        if manifest is not None:
            made.writestr("manifest.json", manifest)
    with pytest.raises(DataError, match=said):
        unpack(path, tmp_path / "new")
    assert nothing_made(tmp_path, "x.zip")


def test_every_flipped_byte_is_met_or_harmless(tmp_path: Path) -> None:
    """Each byte of a small pack turned round: an error, or the very same files."""
    content = packed({TOML: b"name", "farm/a.jsonl": b"{}\n"})
    path = tmp_path / "x.zip"
    wanted = {TOML: b"name", "farm/a.jsonl": b"{}\n"}
    refused = 0
    for place in range(len(content)):
        changed = bytearray(content)
        changed[place] ^= 0xFF
        path.write_bytes(changed)
        try:
            assert unpacked(path) == wanted
        except DataError:
            refused += 1
    assert refused > len(content) // 2


def test_what_is_no_pack_says_so(tmp_path: Path) -> None:
    """Not there, no zip, cut off, a pack of nothing, a strange table."""
    with pytest.raises(InputMissingError):
        unpack(tmp_path / "none.zip", tmp_path / "new")
    path = tmp_path / "x.zip"
    path.write_bytes(b"hello")
    with pytest.raises(DataError, match="no zip that can be read"):
        unpack(path, tmp_path / "new")
    path.write_bytes(packed({TOML: b"x"})[:-30])
    with pytest.raises(DataError, match="no zip that can be read"):
        unpack(path, tmp_path / "new")
    zipped(path, {"farm/other.txt": b"x"})
    with pytest.raises(DataError, match=r"holds no farm/farm\.toml"):
        unpack(path, tmp_path / "new")
    zipped(path, {TOML: b"x", "history/poems.csv": b"x"})
    with pytest.raises(DataError, match="no table of the history"):
        unpack(path, tmp_path / "new")


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"\xff", "no table"),
        (b'"key"x"', "no table"),
        (b"", "columns must be"),
        (b'"key","made"\r\n', "columns must be"),
        (b'"key","made","body"\r\n"a","b"\r\n', ":2: 2 cells"),
    ],
)
def test_a_table_that_is_not_ours_is_placed(
    tmp_path: Path, content: bytes, said: str
) -> None:
    """With the line; nothing is unpacked."""
    path = zipped(tmp_path / "x.zip", {TOML: b"x", "history/messages.csv": content})
    with pytest.raises(DataError, match=said):
        unpack(path, tmp_path / "new")
    assert nothing_made(tmp_path, "x.zip")


def test_a_folder_that_holds_anything_is_left_alone(tmp_path: Path) -> None:
    """An empty one is filled; a file, a link or a full one is not."""
    path = zipped(tmp_path / "x.zip", {TOML: b"x"})
    full = tmp_path / "full"
    full.mkdir()
    (full / "mine").write_bytes(b"mine")
    for taken in (full, full / "mine"):
        with pytest.raises(OutputError, match="not an empty folder"):
            unpack(path, taken)
    assert contents(full) == {"mine": b"mine"}
    empty = tmp_path / "deep" / "empty"
    empty.mkdir(parents=True)
    unpack(path, empty)
    assert contents(empty) == {"farm.toml": b"x"}
    with pytest.raises(OutputError, match="cannot be made"):
        unpack(path, full / "mine" / "below")


def test_a_disk_that_fails_leaves_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Neither half a folder nor a scratch one; an empty folder is still there."""
    path = zipped(tmp_path / "x.zip", {TOML: b"x", "farm/b.jsonl": b"y"})
    empty = tmp_path / "empty"
    empty.mkdir()

    def refuse(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", refuse)
    with pytest.raises(OutputError, match="No space left"):
        unpack(path, empty)
    monkeypatch.undo()
    monkeypatch.setattr(Path, "rename", refuse)
    with pytest.raises(OutputError, match="No space left"):
        unpack(path, empty)
    with pytest.raises(OutputError, match="No space left"):
        unpack(path, tmp_path / "new")
    assert nothing_made(tmp_path, "x.zip", "empty")
    assert empty.is_dir()
    assert not contents(empty)


def test_from_the_command_line(
    farm: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Both commands, and that the demo is not packed by mistake."""
    path = tmp_path / "farm.zip"
    (farm / "past_years.csv").unlink()
    assert exit_code(["pack", "--farm", str(farm), "--out", str(path)]) == 0
    out, err = capsys.readouterr()
    assert "6 files" in out
    assert "left out: " in err
    assert exit_code(["unpack", str(path), str(tmp_path / "again")]) == 0
    assert "forecaster outlook --farm" in capsys.readouterr().out
    assert contents(tmp_path / "again") == contents(farm)
    assert exit_code(["unpack", str(path), str(tmp_path / "again")]) == 73
    assert exit_code(["unpack", str(farm / "farm.toml"), str(tmp_path / "b")]) == 65


def test_a_withdrawn_result_goes_through_a_pack(farm: Path, tmp_path: Path) -> None:
    """The log is the same bytes; the table says by whom and why."""
    here = ["--farm", str(farm)]
    for treated in ("1,2", "0,2"):
        counts = ["--treated", treated, "--untreated", "8,9", "--save"]
        assert exit_code(["result", "Creek Flat", *counts, *here]) == 0
    said = ["--because", "wrong paddock", "--by", "J", *here]
    assert exit_code(["result", "--withdraw", "1", *said]) == 0
    content = pack(farm).content
    with zipfile.ZipFile(io.BytesIO(content)) as whole:
        rows = csv_rows("x", whole.read("views/results.csv"), RESULT_COLUMNS)
    assert [row[-2:] for row in rows] == [("J", "wrong paddock"), ("", "")]
    path = tmp_path / "x.zip"
    path.write_bytes(content)
    unpack(path, tmp_path / "again")
    again = (tmp_path / "again" / "results.jsonl").read_bytes()
    assert again == (farm / "results.jsonl").read_bytes()
    assert pack(tmp_path / "again").content == content


def test_records_go_along_whole_and_as_a_table(farm: Path, tmp_path: Path) -> None:
    """The log byte for byte; its table says what a line of it says, by Python's csv."""
    log = farm / "records.jsonl"
    (first,) = add(log, entry(1))
    add(log, entry(2, corrects=first.hash, because="=area", farm="Thornbill Rise"))
    (third,) = add(log, entry(3))
    add(log, Taken(0, "", third.hash, "J", "twice", AT))
    made = pack(farm).content
    with zipfile.ZipFile(io.BytesIO(made)) as zipped:
        assert zipped.read("farm/records.jsonl") == log.read_bytes()
        text = zipped.read("views/records.csv").decode()
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    lines = [json.loads(line) for line in log.read_text("utf-8").splitlines()]
    assert [row["number"] for row in rows] == ["1", "3"]
    stands, gone = rows
    assert stands["hash"] == lines[1]["hash"]
    assert stands["start"] == lines[1]["job"]["start"]
    assert (stands["product"], stands["corrections"]) == ("label 2", "1")
    assert stands["farm"] == "Thornbill Rise"
    assert stands["tanks"] == "2026-10-14T01:00:00Z 2026-10-14T02:00:00Z 25 ha"
    assert (gone["withdrawn_by"], gone["withdrawn_because"]) == ("J", "twice")
    path = tmp_path / "farm.zip"
    path.write_bytes(made)
    unpack(path, tmp_path / "again")
    assert pack(tmp_path / "again").content == made
