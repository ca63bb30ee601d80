"""Counts and dates in, published statistics with their intervals out."""
