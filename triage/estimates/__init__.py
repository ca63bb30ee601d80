"""Compute published statistics of counts and dates, with their intervals."""
