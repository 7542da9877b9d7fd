"""What may be typed of alerts, and what is never repeated."""

from __future__ import annotations

import shutil
from typing import TYPE_CHECKING

import pytest

from forecaster.errors import SettingsError
from forecaster.settings.farm import load_farm
from forecaster.settings.shipped import demo_folder

if TYPE_CHECKING:
    from pathlib import Path

WORD = "hunter2hunter2"


def load(folder: Path, text: str) -> None:
    """The demo farm with these lines at its end."""
    shutil.copytree(demo_folder(), folder)
    path = folder / "farm.toml"
    path.write_text(path.read_text(encoding="utf-8") + text, encoding="utf-8")
    load_farm(folder)


CHANNEL = "[[alerts.channel]]\n"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[alerts]\nquiet_from = 20:30:00\n", "go together"),
        ("[alerts]\nquiet_from = 20:30:00\nquiet_until = 20:30:00\n", "for ever"),
        ("[alerts]\ndigest_at = 5\n", "a local time"),
        ('[alerts]\ncheck = "weekly"\n', "hourly"),
        ("[alerts]\nhectares_an_hour = 0\n", "hectares_an_hour"),
        ('[alerts]\nprivate_hosts = ["http://a/b?c"]\n', "name or number of a host"),
        (f'{CHANNEL}name = "a"\nkind = "apprise"\n', "needs secret"),
        (f'{CHANNEL}name = "a"\nkind = "file"\n', "needs file"),
        (f'{CHANNEL}name = "a"\nkind = "file"\nfile = "farm.toml"\n', "text file"),
        (f'{CHANNEL}name = "a"\nkind = "file"\nfile = "con.txt"\n', "text file"),
        (f'{CHANNEL}name = "a"\nkind = "file"\nfile = "../x.txt"\n', "text file"),
        (f'{CHANNEL}name = "A b"\nkind = "file"\nfile = "x.txt"\n', "a-z, 0-9"),
        (2 * f'{CHANNEL}name = "a"\nkind = "file"\nfile = "x.txt"\n', "two channels"),
        (
            f'{CHANNEL}name = "a"\nkind = "file"\nfile = "x.txt"\nsecond = true\n',
            "at least one",
        ),
        (f'{CHANNEL}name = "a"\nkind = "file"\nfile = "x.txt"\nfor = []\n', "for"),
    ],
)
def test_faults_say_what_is_allowed(tmp_path: Path, text: str, words: str) -> None:
    """With file, line and column."""
    with pytest.raises(SettingsError, match=r"farm\.toml:\d+:\d+") as error:
        load(tmp_path / "farm", text)
    assert words in str(error.value)


@pytest.mark.parametrize(
    "text",
    [
        f'[alerts]\nheartbeat = "https://watch.example/{WORD}"\n',
        f'[alerts]\nprivate_hosts = ["https://{WORD}.example"]\n',
        f'[alerts]\ncheck = "https://{WORD}"\n',
        f'{CHANNEL}name = "https://{WORD}"\nkind = "file"\nfile = "x.txt"\n',
        f'{CHANNEL}name = "a"\nkind = "apprise"\nsecret = "jsons://h/{WORD}"\n',
        f'{CHANNEL}name = "a"\nkind = "jsons://h/{WORD}"\nsecret = "a"\n',
        f'{CHANNEL}name = "a"\nkind = "file"\nfile = "https://{WORD}"\n',
        f'{CHANNEL}name = "a"\nkind = "file"\nsecret = "jsons://h/{WORD}"\n',
        f'{CHANNEL}name = "a"\nkind = "file"\nfile = "x.txt"\nfor = ["a://{WORD}"]\n',
    ],
)
def test_an_address_in_the_wrong_place_is_not_repeated(
    tmp_path: Path, text: str
) -> None:
    """It is a secret; the fault names the place, not the value."""
    with pytest.raises(SettingsError) as error:
        load(tmp_path / "farm", text)
    assert WORD not in str(error.value)


def test_two_paddocks_of_one_id(tmp_path: Path) -> None:
    """Both lines are named."""
    shutil.copytree(demo_folder(), tmp_path / "farm")
    path = tmp_path / "farm" / "farm.toml"
    text = path.read_text(encoding="utf-8")
    for name in ("House", "Woolshed"):
        text = text.replace(f'name = "{name}"\n', f'name = "{name}"\nid = "a"\n')
    path.write_text(text, encoding="utf-8")
    with pytest.raises(SettingsError, match="a second paddock with the id 'a'"):
        load_farm(tmp_path / "farm")
