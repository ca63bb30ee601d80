"""Serve a survey as a local web page for coordinator, determiner and analyst."""

from triage.desk.app import create_app
