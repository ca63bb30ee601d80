"""What a page looks like, asked of the browser: faults that axe finds, and what lies beside it."""

from __future__ import annotations

from typing import Any

from desk.conftest import drawn, photographed


def violations(page: Any) -> list[str]:
    """What axe-core finds (Deque, the accessibility engine; its rules follow WCAG 2)."""
    from axe_playwright_python.sync_playwright import Axe

    found = Axe().run(page).response["violations"]
    return [f"{v['id']}: {node['html'][:120]}" for v in found for node in v["nodes"][:3]]


def overflows(page: Any) -> bool:
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
        found = violations(self.page)
        if overflows(self.page):
            found.append("wider than the window")
        self.seen.append(name)
        if found:
            self.wrong[name] = found
