"""A packet in, one page out that opens from disk: the determiner's room with all it needs inside.

The page reuses the room's own scripts and styles. A browser loads no script modules from disk, so
they are put into one script, each in a function of its own; what the desk would answer is answered
by ``static/packet``.
"""

from __future__ import annotations

import base64
import hashlib
import json
import re
from pathlib import Path
from typing import Any

from triage.desk import determine, keys
from triage.desk.said_here import at_desk
from triage.desk.wording import VIEWS, lang, metres, taxon
from triage.packets import Packet, Picture, Shown
from triage.standards.counting import counted

STATIC = Path(__file__).parent / "static"
START = ("page.js", "determine/room.js", "packet/save.js")
INSTEAD = {
    "desk.js": "packet/desk.js",
    "determine/ahead.js": "packet/ahead.js",
    "determine/outbox.js": "packet/outbox.js",
}
"""Scripts that speak to a desk, and those of the packet in their place."""
WITHOUT = "two split merge view box blind"  # what only the desk can do
SAVE = keys.Key(key="+", label="+", does="save the answers as a table")

_IMPORT = re.compile(r'^import (?:\{([^}]*)\} from )?"([^"]+)";\n', re.MULTILINE)
_EXPORT = re.compile(r"^export (async function|function|class|const) (\w+)", re.MULTILINE)
_LIST = re.compile(r"^export \{([^}]*)\};\n?", re.MULTILINE)
_KEPT = """const kept = (place) => {
  try {
    window[place].setItem("kept", "");
    return window[place];
  } catch {
    const held = new Map(); // a browser that keeps nothing for pages from disk
    return {
      getItem: (name) => held.get(name) ?? null, setItem: (name, text) => held.set(name, text),
      removeItem: (name) => held.delete(name), forgets: true,
    };
  }
};
const localStorage = kept("localStorage");
const sessionStorage = kept("sessionStorage");
"""


def page(packet: Packet) -> str:
    """The page of a packet, whole."""
    from jinja2 import Environment, PackageLoader, StrictUndefined
    from markupsafe import Markup

    environment = Environment(
        loader=PackageLoader("triage.desk"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    environment.filters |= {"count": counted, "metres": metres, "taxon": taxon}
    environment.filters |= {"at_desk": at_desk, "lang": lang}
    pictures = {
        f"{one.key}-{number}": picture
        for one in packet.shown
        for number, picture in enumerate(one.pictures, 1)
    }

    def url_for(_: str, *, photo: str, size: str) -> str:
        if size == "whole":
            return ""  # the picture at hand is all there is
        return "data:image/jpeg;base64," + base64.b64encode(pictures[photo].jpeg).decode()

    environment.globals |= {"url_for": url_for, "view_words": VIEWS}
    style = "".join(_text(name) for name in ("paper.css", "determine/room.css"))
    script = bundle(START)
    order = json.dumps([{"i": n, "season": None, "near": 0} for n in range(len(packet.names))])
    return environment.get_template("packet/page.html").render(
        packet=packet,
        sightings=[(_sighting(one), order) for one in packet.shown],
        place=None,
        names=json.dumps(packet.names, ensure_ascii=False),
        blind=True,
        blind_required=True,
        without=WITHOUT,
        acts_of_keys=keys.acts_of(keys.NAMING, keys.LOOKING, keys.MENDING),
        naming=(*keys.NAMING, SAVE),
        looking=keys.LOOKING,
        mending=(),
        keys_everywhere=keys.EVERYWHERE,
        cannot=determine.CANNOT,
        other=determine.OTHER,
        stages=determine.STAGES,
        behaviors=determine.BEHAVIORS,
        views=(),
        style=Markup(style),  # files of our own
        script=Markup(script),
        style_digest=_digest(style),
        script_digest=_digest(script),
    )


def _sighting(one: Shown) -> dict[str, Any]:
    """A sighting as the room's template takes it, blind: it has nothing else to show."""
    return {
        "identifier": one.key,
        "event_date": one.day,
        "frames": [_frame(f"{one.key}-{n}", picture) for n, picture in enumerate(one.pictures, 1)],
        "blind": True,
        "time_source": "",
        "second_opinion": False,
        "words": (),
        "near": (),
    }


def _frame(photo: str, picture: Picture) -> dict[str, Any]:
    measured = {
        "box": picture.box,
        "focus": picture.focus,
        "insect_px": picture.insect_px,
        "reasons": (f"insect {picture.insect_px:,.0f} pixels long", f"focus {picture.focus:.2f}"),
        "doubt": "",
    }
    return {
        "photo": photo,
        "view": picture.view,
        "width": picture.width,
        "height": picture.height,
        "measured": measured if picture.box is not None else None,
        "corrected": (),
        "file_name": "",
    }


def bundle(start: tuple[str, ...]) -> str:
    """The modules of these files and all that they import as one script without modules.

    Raises
    ------
    ValueError
        If a file imports or exports in a form that is not known here.
    """
    made: dict[str, str] = {}
    for name in start:
        _add(name, made)
    parts = [f"modules[{json.dumps(name)}] = (() => {{\n{made[name]}}})();\n" for name in made]
    return f'"use strict";\n(() => {{\n{_KEPT}const modules = {{}};\n{"".join(parts)}}})();\n'


def _add(name: str, made: dict[str, str]) -> None:
    """Put a module after those that it imports."""
    name = INSTEAD.get(name, name)
    if name in made:
        return
    text = _text(name)

    def imported(found: re.Match[str]) -> str:
        other = _resolved(name, found[2])
        _add(other, made)
        return f"const {{{found[1]}}} = modules[{json.dumps(other)}];\n" if found[1] else ""

    exported = [found[2] for found in _EXPORT.finditer(text)]
    for found in _LIST.finditer(text):
        exported += [one.strip() for one in found[1].split(",")]
    body = _EXPORT.sub(r"\1 \2", _LIST.sub("", _IMPORT.sub(imported, text)))
    if re.search(r"^(import|export)\b|</script", body, re.MULTILINE):
        raise ValueError(f"{name} imports or exports in a form that is not known")
    made[name] = f"{body}return {{{', '.join(exported)}}};\n"


def _resolved(name: str, path: str) -> str:
    """The file that a module means by a path, or the packet's own in its place."""
    other = (STATIC / name).parent.joinpath(path).resolve().relative_to(STATIC.resolve())
    return INSTEAD.get(other.as_posix(), other.as_posix())


def _text(name: str) -> str:
    return (STATIC / name).read_text(encoding="utf-8")


def _digest(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
