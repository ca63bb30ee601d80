"""The keys of the desk: what the scripts hear is what "?" lists, and one key means one thing."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable

import pytest
from desk.desks import come_in, desk_of

from triage.desk import keys, packet_page

ROOMS: dict[str, tuple[str, tuple[keys.Key, ...]]] = {
    "/determine/": ("determine", (*keys.NAMING, *keys.LOOKING, *keys.MENDING)),
    "/inbox/": ("inbox", keys.INBOX),
    "/sites/": ("sites", keys.SITES),
}
# Cursor and hand: they go, choose and confirm in whatever room they are pressed.
DIGITS = set("123456789")
ARROWS = {"ArrowLeft", "ArrowUp", "ArrowDown", "ArrowRight"}
GENERAL = {"Enter", "Tab", "Escape", *DIGITS, *ARROWS}


def names(listed: Iterable[keys.Key]) -> set[str]:
    return {name for one in listed for name in one.names}


def heard(folder: str) -> set[str]:
    """Every key that the scripts of a folder compare with, read from their text."""
    found: set[str] = set()
    for path in sorted((packet_page.STATIC / folder).glob("*.js")):
        text = path.read_text(encoding="utf-8")
        found |= set(re.findall(r'event\.key [!=]== "([^"]+)"', text))
        for block in re.findall(r"const acts = \{(.*?)\};\n", text, re.DOTALL):
            if "acts[event.key]" in text:
                found |= set(re.findall(r'(?:^|,)\s*"?([^",:\s]+)"?: ', block))
        if re.search(r"/\^\[[01]-9\]\$/", text):
            found |= DIGITS
        if 'event.key.startsWith("Arrow")' in text:
            found |= ARROWS
    return found - {" "}  # the space bar presses what is in focus, as everywhere in a browser


@pytest.mark.parametrize("path", ROOMS)
def test_every_key_that_a_room_hears_is_listed(path: str):
    folder, listed = ROOMS[path]
    if folder == "determine":  # hears by name what the list says: nothing of it stands twice
        assert "this.keys" in (packet_page.STATIC / "determine" / "room.js").read_text("utf-8")
    assert heard(folder) <= names(listed) | names(keys.EVERYWHERE)


def test_every_key_listed_for_the_inbox_and_the_map_is_heard():
    assert names(keys.INBOX) == heard("inbox")
    assert names(keys.SITES) - {"Tab", "Enter"} == heard("sites")  # links: the browser's own


def test_every_act_of_a_key_is_one_that_the_determiners_room_knows(walked):
    scripts = "".join(
        path.read_text(encoding="utf-8") for path in (packet_page.STATIC / "determine").glob("*.js")
    )
    page = come_in(desk_of(walked)).get("/determine/").get_data(as_text=True)
    for one in (*keys.NAMING, *keys.LOOKING, *keys.MENDING):
        if one.act:
            by_script = re.search(rf'\b{one.act}: \(\) =>|name === "{one.act}"', scripts)
            assert by_script or f'data-options="{one.act}"' in page, one


@pytest.mark.parametrize("path", [*ROOMS, "/inbox/records/", "/jars/", "/survey/"])
def test_a_room_lists_its_keys(walked, path: str):
    page = come_in(desk_of(walked)).get(path, follow_redirects=True).get_data(as_text=True)
    listed = page[page.index('<dialog id="keys"') :]
    expected = keys.JARS if path == "/jars/" else ROOMS.get(path, ("", ()))[1]
    for one in (*expected, *keys.EVERYWHERE):
        assert f"<dd>{one.does}</dd>" in listed


def test_one_key_has_one_meaning_in_all_rooms():
    meanings: dict[str, set[str]] = defaultdict(set)
    rooms = (keys.EVERYWHERE, keys.NAMING, keys.LOOKING, keys.MENDING, keys.INBOX, keys.SITES)
    for one in (one for room in rooms for one in room):
        for name in set(one.names) - GENERAL:
            meanings[name].add(one.does)
    assert {name: does for name, does in meanings.items() if len(does) > 1} == {}
    assert len(meanings) > 30


def test_no_key_but_letters_of_a_name_can_stand_in_a_name():
    """Letters, blank, hyphen, apostrophe and full stop are typed (``plain`` in names.js)."""
    acts = (one for one in (*keys.NAMING, *keys.LOOKING, *keys.MENDING) if one.act)
    for name in names(acts):
        assert len(name) > 1 or not re.match(r"[\w\s'’.-]", name), name
