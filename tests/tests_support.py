"""Names that several test folders share."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

DEMO = Path(__file__).parent.parent / "demo_photos"
NOW = datetime(2026, 11, 1, 12, 0, tzinfo=UTC)
