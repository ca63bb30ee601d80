"""What all tests share: no deadline on a busy machine, no chance, and the rule about skips."""

from __future__ import annotations

import os
from collections.abc import Iterator

import pytest
from hypothesis import HealthCheck, settings

from triage.mail import meaning

# The same examples in each run, so that a run fails for what was changed and for nothing else; with
# TRIAGE_NEW_EXAMPLES=1 other ones are searched. Drawing may be slow on a busy machine.
settings.register_profile(
    "steady",
    deadline=None,
    derandomize=os.environ.get("TRIAGE_NEW_EXAMPLES") != "1",
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("steady")

pytest_plugins = ["surveys"]

# Many tests ask about the sentences of the same batches of mails (tests/data/mails), which are more
# than the program keeps of a night: each is encoded once in a process.
meaning.KEPT = 100_000

FORBID_SKIPS = os.environ.get("TRIAGE_FORBID_SKIPS") == "1"
ALLOWED_SKIPS = ("needs torch", "needs onnx")  # the training extra is no part of the product

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


@pytest.hookimpl(tryfirst=True)  # before pytest-xdist reads the groups
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Keep together what shares something costly: the browser, or what one module makes once.

    Modules that read the same batches of mails name their group themselves.
    """
    for item in items:
        made = item._fixtureinfo.name2fixturedefs if isinstance(item, pytest.Function) else {}
        if "chromium" in made:
            item.add_marker(pytest.mark.xdist_group("browser"))
        elif any(fixture[-1].scope == "module" for fixture in made.values()):
            item.add_marker(pytest.mark.xdist_group(item.path.stem))
