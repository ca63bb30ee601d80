"""Measure and compare photo files that belong to no survey."""
