"""What a page is to whoever looks at it, hears it, or reads it on paper, asked of the browser.

The rules are of WCAG 2.2 (W3C Recommendation, 2023), each named by its success criterion.
"""

from __future__ import annotations

import re
from collections import Counter
from typing import Any

from desk.conftest import drawn, photographed

OPERABLE = (
    *("button", "link", "textbox", "searchbox", "combobox", "listbox", "checkbox", "slider"),
    "DisclosureTriangle",
)
OF_THE_BROWSER = "Show date picker"  # in a field for a day, once for each
MEANING = re.compile(r"[^\W\d_]{3}|[A-Z]+-[0-9]")  # a word, or the number on a jar

LEVELS = """[...document.querySelectorAll('h1, h2, h3, h4')].filter(n => n.checkVisibility())
    .map(n => Number(n.tagName[1]))"""

ON_PAPER = """() => {
    const light = v => v <= .04045 ? v / 12.92 : ((v + .055) / 1.055) ** 2.4;
    const contrast = n => {
        const [r, g, b] = getComputedStyle(n).color.match(/[\\d.]+/g).map(v => light(v / 255));
        return 1.05 / (.2126 * r + .7152 * g + .0722 * b + .05);
    };
    const seen = [...document.querySelectorAll('main *')]
        .filter(n => n.checkVisibility({ visibilityProperty: true }));
    const pressed = seen.filter(n => n.matches('button, .button, input[type=file], dialog'));
    const words = n => [...n.childNodes].some(one => one.nodeType === 3 && one.data.trim());
    const pale = seen.filter(n => n instanceof HTMLElement && words(n) && contrast(n) < 4.5);
    return [...pressed, ...pale].map(n => n.outerHTML.slice(0, 120));
}"""
"""Controls that would be printed, and words too pale for it (luminance as WCAG defines it)."""


def violations(page: Any) -> list[str]:
    """What axe-core finds (Deque, the accessibility engine; its rules follow WCAG 2).

    Among them 1.4.3 (contrast of at least 4.5), 1.1.1 and 4.1.2; two rules that it leaves out by
    itself are asked for, 2.5.8 (targets of 24 pixels) and 2.5.3 (a name holds what is seen).
    """
    from axe_playwright_python.sync_playwright import Axe

    more = {name: {"enabled": True} for name in ("target-size", "label-content-name-mismatch")}
    asked = {"rules": more, "resultTypes": ["violations"]}
    found = Axe().run(page, options=asked).response["violations"]
    return [f"{v['id']}: {node['html'][:120]}" for v in found for node in v["nodes"][:3]]


def misheard(page: Any) -> list[str]:
    """What a screen reader would read badly, by the browser's own tree of names and roles.

    2.4.6 and 4.1.2: each control has a name that says by itself what it is, no two the same;
    1.1.1: each picture has words; 1.3.1 and 2.4.6: one heading of the page comes first, and no
    level is left out; 1.3.1: tables have heads with their direction.
    """
    session = page.context.new_cdp_session(page)
    nodes = session.send("Accessibility.getFullAXTree")["nodes"]
    session.detach()
    said = [
        (one["role"]["value"], one.get("name", {}).get("value", ""))
        for one in nodes
        if not one["ignored"]
    ]
    named = [one for one in said if one[0] in OPERABLE and not one[1].startswith(OF_THE_BROWSER)]
    wrong = [f"no name: {one}" for one in named if not MEANING.search(one[1])]
    wrong += [
        f"{count} of one name: {one}"
        for one, count in Counter(named).items()
        if count > 1 and one[0] != "link"  # links of one name may lead to one place
    ]
    wrong += ["a picture without words" for role, name in said if role == "image" and not name]
    levels = page.evaluate(LEVELS)
    steps = [b - a for a, b in zip([0, *levels], levels, strict=False)]
    if levels.count(1) != 1 or levels[0] != 1 or max(steps) > 1:
        wrong.append(f"headings: {levels}")
    if page.locator("th:not([scope]), table:not(:has(th))").count():
        wrong.append("a table without heads")
    return wrong


def misprinted(page: Any) -> list[str]:
    """What does not belong on paper, or cannot be read there (1.4.3, on white)."""
    page.emulate_media(media="print")
    found = [f"on paper: {one}" for one in page.evaluate(ON_PAPER)]
    page.emulate_media(media="screen")
    return found


def overflows(page: Any) -> bool:
    """Whether the page must be moved sideways: 1.4.10, at 320 pixels and at any other width."""
    return bool(page.evaluate("document.scrollingElement.scrollWidth > window.innerWidth + 1"))


class Looks:
    """Every state of a page that was looked at, and what was wrong with it."""

    def __init__(self, page: Any, suffix: str) -> None:
        self.page, self.suffix = page, suffix
        self.wrong: dict[str, list[str]] = {}
        self.seen: list[str] = []

    def at(self, name: str) -> None:
        """Look at the page as it is now."""
        drawn(self.page)
        photographed(self.page, f"{name}-{self.suffix}")
        found = violations(self.page) + misheard(self.page) + misprinted(self.page)
        if overflows(self.page):
            found.append("wider than the window")
        self.seen.append(name)
        if found:
            self.wrong[name] = found
