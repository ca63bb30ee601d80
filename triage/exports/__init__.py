"""Write a survey's records as a folder of standard files that may be handed on.

``content`` what goes in · ``release`` what may be said of each record · ``rows`` the columns of
each table · ``writing`` the files. docs/exports.md describes the folder.
"""

from triage.exports.content import ExportContent, MediaRow, PersonRow, SurveyMetadata
from triage.exports.writing import ExportOutcome, write_export
from triage.privacy import ReleasePolicy
