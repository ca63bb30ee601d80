"""What goes back to people: questions about a message, and letters about their sightings.

``drafting`` asks one thing · ``letters`` thanks and sums up a season · ``answers`` recognises what
comes back · ``envelope`` makes the .eml, which a person sends: nothing here sends mail. The wording
is in ``templates/LANGUAGE``; a survey may put its own in its folder ``templates``.
"""

from triage.replies.answers import AnswerReading, read_answer, recognise_answer
from triage.replies.drafting import AskedMessage, Asker, draft_reply
from triage.replies.envelope import Addressee, Picture
from triage.replies.language import language_of
from triage.replies.marks import question_code
from triage.replies.wording import QUESTIONS, Question
