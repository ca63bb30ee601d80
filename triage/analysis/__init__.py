"""Pixels and coordinates in, plain numbers out: no storage, no screen."""
