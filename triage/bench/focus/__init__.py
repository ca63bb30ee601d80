"""Measure how well focus tells known blur, and an insect's blur from its background's."""

from triage.bench.focus.known_blur import Ranking, bench_focus
from triage.bench.focus.selective import SelectiveBlur, selective_blur
