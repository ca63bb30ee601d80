"""A survey folder in, a local web page for coordinator, determiner and analyst out."""

from triage.desk.app import create_app

__all__ = ["create_app"]
