"""A message that lacks something in, a drafted question out; an answer in, what it settles out.

``drafting`` writes an .eml for a person to send: nothing here sends mail. ``answers`` recognises
what comes back. The wording is in ``templates/LANGUAGE/WHAT.txt``; a survey may put its own in
its folder ``templates``.
"""

from triage.replies.answers import AnswerReading, read_answer, recognise_answer
from triage.replies.drafting import QUESTIONS, AskedMessage, Asker, Question, draft_reply
from triage.replies.marks import question_code, subject_mark

__all__ = [
    "QUESTIONS",
    "AnswerReading",
    "AskedMessage",
    "Asker",
    "Question",
    "draft_reply",
    "question_code",
    "read_answer",
    "recognise_answer",
    "subject_mark",
]
