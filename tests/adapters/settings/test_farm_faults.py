"""One wrong thing in a farm file: where it is, what it is, and what is allowed."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

import pytest

from forecaster.cli.main import exit_code

if TYPE_CHECKING:
    from pathlib import Path

# id, what is changed, into what, the word the place points at, and what is said.
FAULTS: list[tuple[str, str, str, str, list[str]]] = [
    ("unquoted", '"Test farm"', "Home", "Home", ["not TOML", 'name = "Home"']),
    ("table not closed", "[weather]", "[weather", "", ["not TOML", "[weather"]),
    (
        "quote not closed",
        '"Test farm"',
        '"Test farm',
        "",
        ["not TOML", 'closing " is missing'],
    ),
    ("curly quotes", '"Test farm"', "“Test farm”", "“Test farm”", ["straight ones"]),
    ("True", "= true", "= True", "True", ["small letters"]),
    ("date day first", "= 2026-09-01", "= 1/9/2026", "/9", ["2026-09-01"]),
    ("decimal comma", "-37.5", "-37,5", ",5", ["decimal point"]),
    ("unit typed", "= 34", "= 34 ha", "ha\n", ["without its unit"]),
    ("bare word", "[season]", "season", "", ["not TOML", '"season"']),
    (
        "key twice",
        "latitude = -37.5",
        "latitude = -37.5\nlatitude = -38",
        "",
        ["latitude = -38", "line 4 already"],
    ),
    ("table twice", "[weather]", "[season]\n[weather]", "", ["line 8 already"]),
    ("impossible date", "2026-05-03", "2027-02-29", "2027-02-29", ["Invalid date"]),
    ("nested", "= 34", "= " + "[" * 5000 + "]" * 5000, "", ["not TOML"]),
    ("5000 digits", "= 34", "= " + "9" * 5000, "", ["thousands of digits"]),
    (
        "misspelt key",
        "latitude",
        "lattitude",
        "lattitude",
        ["farm.lattitude is not a known key", "did you mean latitude?"],
    ),
    ("strange key", "elevation_m", "zzz", "zzz", ["not a known key", "elevation_m"]),
    ("a rate", "wind_max_kmh", "rate", "rate", ["labels.glyphosate.rate is not a"]),
    ("key of a paddock", "hectares", "acres", "acres", ["paddock 1: acres is not"]),
    ("key with ESC", "hectares", '"a\\u001b"', '"a\\u', ["\\u001b", "not a known"]),
    ("table", "[season]", "[seasons]", "seasons", ["did you mean season?"]),
    ("no latitude", "latitude = -37.5\n", "", "farm]", ["farm.latitude is missing"]),
    ("long minus", "-37.5", "\u221237.5", "\u221237.5", ["U+2212", "hyphen"]),
    (
        "long minus in quotes",
        "-37.5",
        '"\u221237.5"',
        "latitude",
        ["U+2212", "a number, without quotes"],
    ),
    ("full-width digits", "-37.5", '"\uff13\uff17"', "latitude", ["U+FF13"]),
    ("quoted number", "-37.5", '"-37.5"', "latitude", ['"-37.5"', "without quotes"]),
    ("true", "-37.5", "true", "latitude", ["= true", "allowed is a number"]),
    ("nan", "-37.5", "nan", "latitude", ["= nan", "a plain number"]),
    ("inf", "-37.5", "inf", "latitude", ["= inf", "a plain number"]),
    ("overflow", "-37.5", "-1e999", "latitude", ["= -inf", "a plain number"]),
    ("huge hex", "= 34", "= 0x" + "f" * 6000, "hectares", ["allowed is a number"]),
    (
        "swapped",
        "latitude = -37.5\nlongitude = 142.3",
        "latitude = 142.3\nlongitude = -37.5",
        "latitude",
        ["142.3", "-90 to 90", "swapped"],
    ),
    ("east too far", "142.3", "200", "longitude", ["200", "-180 to 180"]),
    (
        "northern",
        "-37.5",
        "37.5",
        "latitude",
        ["37.5", "Australia/Melbourne of line 3:1", "negative"],
    ),
    (
        "null island",
        "latitude = -37.5\nlongitude = 142.3",
        "latitude = 0\nlongitude = 0",
        "latitude",
        ["0", "Atlantic", "type the farm's own"],
    ),
    ("elevation", "= 200", "= 3001", "elevation_m", ["3001", "-100 to 3,000"]),
    ("misspelt zone", "Melbourne", "Melborne", "zone", ["mean Australia/Melbourne"]),
    ("small letters", "Australia/M", "australia/m", "zone", ["Australia/Melbourne"]),
    ("EST", "Australia/Melbourne", "EST", "zone", ['"EST"', "Area/City"]),
    ("Etc", "Australia/Melbourne", "Etc/GMT-10", "zone", ["Area/City"]),
    ("US", "Australia/Melbourne", "US/Eastern", "zone", ["Area/City"]),
    (
        "passwd",
        "Australia/Melbourne",
        "../../etc/passwd",
        "zone",
        ['"../../etc/passwd"', "Area/City"],
    ),
    ("zone a number", '"Australia/Melbourne"', "10", "zone", ['words in "quotes"']),
    ("quoted date", "2026-05-03", '"2026-05-03"', "autumn_break", ["without quotes"]),
    ("date a number", "2026-05-03", "1777766400", "autumn_break", ["2026-09-01"]),
    ("date a moment", "2026-05-03", "2026-05-03T10:00:00", "autumn_b", ["2026-09-01"]),
    ("weather", '"demo"', '"internet"', "kind", ['"internet"', "allowed is 'hours'"]),
    (
        "address",
        'kind = "demo"',
        'kind = "demo"\nopen_meteo_url = "weather.example"',
        "open_meteo_url",
        ['"weather.example"', "allowed is an address such as https://"],
    ),
    (
        "address of SILO",
        'kind = "demo"',
        'kind = "demo"\nsilo_url = "days.example"',
        "silo_url",
        ['"days.example"', "allowed is an address such as https://"],
    ),
    ("silo", '"demo"', '"demo"\nsilo = true', "silo", ["has no use", "remove"]),
    ("silo a word", '"demo"', '"demo"\nsilo = "no"', "silo", ["true or false"]),
    ("no file", '"demo"', '"hours"', "weather]", ["weather.file is missing", "hours"]),
    (
        "moment without offset",
        '"demo"',
        '"demo"\nmoment = 2026-10-12T06:00:00',
        "moment",
        ["with its offset", "+11:00"],
    ),
    ("no use", '"demo"', '"demo"\nfile = "x.csv"', "file", ["has no use", "remove"]),
    (
        "restraint",
        "kmh = 20",
        "kmh = 20\ninversion_restraint = 1",
        "inv",
        ["= 1: allowed"],
    ),
    ("NUL in a path", '"demo"', '"demo"\nfile = "a\\u0000"', "file", ["U+0000"]),
    ("unknown active", "labels.glyphosate", "labels.glifosate", "labels.", ["glypho"]),
    ("weed on label", '["barley_grass"]', '["barley"]', '"barley"', ["barley_grass?"]),
    (
        "who is not said",
        'confirmed_by = "A. Grazier"\n',
        "",
        "confirmed = true",
        ["confirmed = true needs confirmed_by", "read_on"],
    ),
    (
        "who is blank",
        '"A. Grazier"',
        '"  "',
        "confirmed = true",
        ["who read the label"],
    ),
    (
        "when is not said",
        "read_on = 2026-09-01\n",
        "",
        "confirmed = true",
        ["the day they"],
    ),
    (
        "wind upside down",
        "wind_min_kmh = 3",
        "wind_min_kmh = 20",
        "wind_min",
        ["wind_min_kmh = 20 must be below wind_max_kmh = 20 of line 21"],
    ),
    ("too windy", "kmh = 20", "kmh = 61", "wind_max", ["61", '1 to 60, or "not on']),
    ("wind in words", "kmh = 20", 'kmh = "none"', "wind_max", ['"not on label"']),
    ("wind true", "kmh = 20", "kmh = true", "wind_max", ["= true", "a number from"]),
    ("wind nan", "kmh = 20", "kmh = nan", "wind_max", ["= nan", "a number from"]),
    ("flag in words", "= true", '= "yes"', "confirmed", ['"yes"', "true or false"]),
    ("confirmed one", "= true", "= 1", "confirmed", ["= 1", "true or false"]),
    ("label too long", '"a label"', f'"{"x" * 201}"', "label", ["to 200 characters"]),
    ("ESC on a label", '"a label"', '"\\u001b[31m"', "label", ["U+001B"]),
    ("weeds a list", "{ annual_ryegrass = 35 }", '["x"]', "weeds", ["a table"]),
    ("no weeds", "{ annual_ryegrass = 35 }", "{ }", "weeds", ["1 or more"]),
    ("no share", "ryegrass = 35", "ryegrass = 0", "annual_r", ["above 0 to 100"]),
    ("misspelt weed", "{ annual_", "{ anual_", "anual", ["mean annual_ryegrass"]),
    ("strange weed", "{ annual_ryegrass", "{ zzz", "zzz", ["known: annual_ryegrass,"]),
    (
        "too many weeds",
        "silver_grass = 10",
        "silver_grass = 80",
        "weeds = {",
        ["110 %", "up to 100"],
    ),
    (
        "target",
        "nothing_near = true",
        'target = "capeweed"',
        "target",
        ["'capeweed' is not among", "'annual_ryegrass'"],
    ),
    (
        "misspelt active",
        "nothing_near = true",
        'actives = ["paraqat"]',
        '"paraqat"',
        ["did you mean paraquat?"],
    ),
    ("no actives", "nothing_near = true", "actives = []", "actives", ["1 or more"]),
    ("no area", "hectares = 26\n", "", "paddock", ["'Hill' has no hectares"]),
    ("area zero", "= 26", "= 0", "hectares", ["above 0 to 20,000"]),
    ("note with ESC", "nothing_near = true", 'note = "\\u001b"', "note", ["U+001B"]),
    ("two of a name", '"Hill"', '"Creek"', "name", ["'Creek'", "line 24", "rename"]),
    ("no such limit", "", '[advice.wind]\nbecause = "abc"\n', "advice", ["unknown"]),
    (
        "a law",
        "",
        '[advice.wind_side]\nhold = true\nbecause = "abc"\n',
        "advice",
        ["wind_side is law or label, not advice; it cannot be changed"],
    ),
    (
        "a data limit",
        "",
        '[advice.forecast_too_old]\nbound = 100\nbecause = "abc"\n',
        "advice",
        ["forecast_too_old is data, not advice; it cannot be changed"],
    ),
    (
        "nothing chosen",
        "",
        '[advice.delta_t_stop]\nbecause = "abc"\n',
        "advice",
        ["changes nothing", "bound = … or hold = true"],
    ),
    (
        "a slip",
        "",
        '[advice.wind_top_advice]\nbound = -5\nbecause = "abc"\n',
        "bound",
        ["bound = -5: allowed is 0 to 72 km/h"],
    ),
    (
        "no bound to move",
        "",
        '[advice.light_wind_side]\nbound = 2\nbecause = "abc"\n',
        "bound",
        ["yes or no; type hold = true instead"],
    ),
    ("no reason", "", "[advice.delta_t_stop]\nhold = true\n", "advice", ["because is"]),
    (
        "short reason",
        "",
        '[advice.delta_t_stop]\nhold = true\nbecause = "x"\n',
        "because",
        ["3 or more characters"],
    ),
]

SENSITIVE = (
    '[[sensitive]]\nname = "Vines"\npaddock = "{}"\nside = "{}"\n'
    "distance_m = {}\ncare_m = {}\n"
)
FAULTS += [
    (f"sensitive {place}", "", SENSITIVE.format(*values), place, said)
    for place, values, said in (
        ("paddock = ", ("Crek", "east", 70, 250), ["did you mean Creek?"]),
        ("side", ("Creek", "est", 70, 250), ["north, north-east, east"]),
        ("distance_m", ("Creek", "east", -1, 250), ["0 to 10,000"]),
        ("care_m", ("Creek", "east", 70, 0), ["above 0 to 10,000"]),
    )
]


def place_of(text: str, word: str, sound: str) -> str:
    """``line:column`` of ``word`` on the first spoilt line, else before it."""
    pairs = enumerate(zip(text, sound, strict=False))
    at = next((n for n, (a, b) in pairs if a != b), min(len(text), len(sound)))
    start = text.rfind("\n", 0, at) + 1
    here = text.find(word, start)
    if here < 0 or (here > at and "\n" in text[at:here] and at < len(sound)):
        here = text.rindex(word, 0, start)
    line_start = text.rfind("\n", 0, here) + 1
    return f"{text[:here].count(chr(10)) + 1}:{here - line_start + 1}"


@pytest.mark.parametrize(
    ("old", "new", "word", "said"),
    [pytest.param(*row[1:], id=row[0]) for row in FAULTS],
)
def test_a_fault_is_told_at_its_place(
    spoil: Any,
    refused: Any,
    farm_text: str,
    *,
    old: str,
    new: str,
    word: str,
    said: list[str],
) -> None:
    """Exit 78; file:line:column, the value, what is allowed; nothing else happens."""
    folder = spoil(old, new)
    told = refused(folder)
    assert told.startswith("forecaster: 1 fault") or "lattitude" in told
    for part in said:
        assert part in told
    if word:
        path = folder / "farm.toml"
        place = place_of(path.read_text(encoding="utf-8"), word, farm_text)
        assert f"{path}:{place}: " in told


NAMES = [
    ("empty", "", "the name is empty"),
    ("blank", "   ", "the name is empty"),
    ("no-break space", "\u00a0", "the name is empty"),
    ("81", "a" * 81, "81 characters; allowed is up to 80"),
    ("newline", "a\\nb", "U+000A"),
    ("tab", "a\\tb", "U+0009"),
    ("ESC", "a\\u001bb", "U+001B"),
    ("NUL", "a\\u0000b", "U+0000"),
    ("DEL", "a\\u007fb", "U+007F"),
    ("right to left override", "a\u202eb", "U+202E"),
    ("isolate", "a\u2066b", "U+2066"),
    ("zero width space", "a\u200bb", "U+200B"),
    ("zero width joiner", "a\u200db", "U+200D"),
    ("joiner at the end", "क्\u200d", "U+200D"),
    ("byte-order mark", "a\ufeffb", "U+FEFF"),
    ("soft hyphen", "a\u00adb", "U+00AD"),
    ("line separator", "a\u2028b", "U+2028"),
    ("Hangul filler", "\u3164", "U+3164"),
    ("empty Braille", "a\u2800b", "U+2800"),
]


@pytest.mark.parametrize(
    ("name", "said"), [pytest.param(*row[1:], id=row[0]) for row in NAMES]
)
def test_a_name_nobody_can_see_is_refused(
    spoil: Any, refused: Any, name: str, said: str
) -> None:
    """Empty, too long, or with an invisible character, whose code point is shown."""
    told = refused(spoil('"Hill"', f'"{name}"'))
    assert "farm.toml:29:1: paddock 2: name = " in told
    assert said in told


@pytest.mark.parametrize(
    ("one", "two"),
    [
        ("Hill", "HILL "),
        ("Café", "Cafe\u0301"),  # é composed and decomposed
        ("Straße", "STRASSE"),
        ("\u1fb3\u0301", "\u03b1\u0301\u0345"),  # Unicode 3.13: fold, then order marks
    ],
)
def test_names_that_only_look_different_are_one(
    spoil: Any, refused: Any, one: str, two: str
) -> None:
    """Equal after NFC and case folding (Unicode 3.13); both lines are named."""
    folder = spoil('"Creek"', f'"{one}"')
    path = folder / "farm.toml"
    text = path.read_text(encoding="utf-8").replace('"Hill"', f'"{two}"')
    path.write_text(text, encoding="utf-8")
    told = refused(folder)
    assert f"{path}:29:1: a second paddock called" in told
    assert "the first is on line 24" in told


def test_several_faults_come_together_in_the_order_of_the_file(
    spoil: Any, refused: Any
) -> None:
    """Four faults of three tables in one run, by line."""
    folder = spoil("latitude", "lattitude")
    path = folder / "farm.toml"
    text = path.read_text(encoding="utf-8").replace('"Hill"', '""')
    path.write_text(text.replace("= 35", '= "35"'), encoding="utf-8")
    told = refused(folder)
    assert told.startswith("forecaster: 4 faults in the settings:\n")
    lines = re.findall(r"farm\.toml:(\d+):\d+: ", told)
    assert lines == ["1", "4", "29", "31"]


def test_faults_between_tables_come_together(spoil: Any, refused: Any) -> None:
    """An unknown weed, a second name and a wrong label are all told at once."""
    folder = spoil("silver_grass", "silver_gras")
    path = folder / "farm.toml"
    text = path.read_text(encoding="utf-8").replace('"Hill"', '"creek"')
    path.write_text(text.replace("_kmh = 3", "_kmh = 25"), encoding="utf-8")
    lines = re.findall(r"farm\.toml:(\d+):\d+: ", refused(folder))
    assert lines == ["20", "26", "29"]


def test_an_empty_file_lists_what_it_needs(tmp_path: Path, refused: Any) -> None:
    """The three tables without which there is no farm, always in one order."""
    (tmp_path / "farm.toml").write_text("", encoding="utf-8")
    told = refused(tmp_path).splitlines()[1:]
    assert [line.split(": ", 1)[1] for line in told] == [
        f"{name} is missing; add it here" for name in ("farm", "weather", "paddock")
    ]


def test_a_single_paddock_table_is_shown_its_brackets(spoil: Any, refused: Any) -> None:
    """``[paddock]`` is the likeliest slip for ``[[paddock]]``."""
    folder = spoil()
    path = folder / "farm.toml"
    text = path.read_text(encoding="utf-8")
    cut = text[: text.index("[[paddock]]")] + '[paddock]\nname = "x"\n'
    path.write_text(cut, encoding="utf-8")
    assert "[[paddock]] in double brackets" in refused(folder)


def test_twenty_thousand_and_one_paddocks_are_too_many(
    spoil: Any, refused: Any
) -> None:
    """Refused at the cap, not worked through."""
    more = (
        f'[[paddock]]\nname = "p{number}"\nhectares = 1\nweeds = {{ capeweed = 9 }}\n'
        for number in range(20_001 - 2)
    )
    told = refused(spoil("", "".join(more)))
    assert "paddock: allowed is up to 20,000 of them" in told


DATES = [
    ("break tomorrow", "2026-05-03", "2026-10-13", "9:1", "in the future"),
    ("break 401 days ago", "2026-05-03", "2025-09-06", "9:1", "401 days ago"),
    (
        "paddock's own break",
        "nothing_near = true",
        "autumn_break = 2024-01-01",
        "32:1",
        "allowed is up to 400",
    ),
    (
        "sprayed last spring",
        "nothing_near = true",
        "sprayed = 2025-10-14",
        "32:1",
        "allowed is up to 200",
    ),
    (
        "not sprayed yet",
        "nothing_near = true",
        "sprayed = 2062-10-14",
        "32:1",
        "in the future",
    ),
    ("label not read yet", "2026-09-01", "2062-09-01", "18:1", "in the future"),
]


@pytest.mark.parametrize(
    ("old", "new", "place", "said"),
    [pytest.param(*row[1:], id=row[0]) for row in DATES],
)
def test_a_date_of_another_season_is_told_at_its_line(
    spoil: Any, refused: Any, *, old: str, new: str, place: str, said: str
) -> None:
    """The demo weather stands at 12 October 2026; dates are counted from there."""
    told = refused(spoil(old, new))
    assert f"farm.toml:{place}: " in told
    assert new.rsplit(" = ", maxsplit=1)[-1] in told
    assert said in told


@pytest.mark.parametrize("date", ["2026-10-12", "2025-09-07"])
def test_a_break_of_this_season_is_taken(spoil: Any, date: str) -> None:
    """Today, and 400 days ago (counted on a calendar)."""
    assert exit_code(["outlook", "--farm", str(spoil("2026-05-03", date))]) == 0


def test_not_on_label_is_an_answer(spoil: Any) -> None:
    """It may stand wherever the label may be silent."""
    folder = spoil(
        "wind_max_kmh = 20",
        'wind_max_kmh = "not on label"\ninversion_restraint = "not on label"',
    )
    assert exit_code(["outlook", "--farm", str(folder)]) == 0
