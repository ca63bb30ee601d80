"""What all tests share: no deadline on a busy machine, and the rule about skips."""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest
from hypothesis import settings

settings.register_profile("without deadline", deadline=None)
settings.load_profile("without deadline")

pytest_plugins = ["surveys"]

FORBID_SKIPS = os.environ.get("TRIAGE_FORBID_SKIPS") == "1"
ALLOWED_SKIPS = ("needs torch",)  # the training extra is no part of the product

_forbidden: list[str] = []


@pytest.hookimpl(hookwrapper=True)
def pytest_runtest_makereport(item: pytest.Item, call: pytest.CallInfo[None]) -> Iterator[None]:
    outcome = yield
    report = outcome.get_result()  # type: ignore[attr-defined]
    if FORBID_SKIPS and report.skipped and not hasattr(report, "wasxfail"):
        reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else str(report.longrepr)
        if not any(allowed in reason for allowed in ALLOWED_SKIPS):
            _forbidden.append(f"{item.nodeid}: {reason}")
            report.outcome = "failed"
            report.longrepr = f"skips are forbidden here: {reason}"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Keep the tests with a browser in one process: two browsers would be slow."""
    for item in items:
        if "chromium" in getattr(item, "fixturenames", ()):
            item.add_marker(pytest.mark.xdist_group("browser"))
