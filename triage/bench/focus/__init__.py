"""Measure how well focus tells known blur, and an insect's blur from its background's."""
