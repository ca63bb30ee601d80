"""What a message still needs from a human, where it stands, and what a coordinator decides."""

from triage.inbox.needs import (
    DOUBTS,
    FIXES,
    Need,
    NeedKind,
    PhotoFacts,
    Wording,
    needs_of,
    severity,
)
from triage.inbox.records import (
    EARLIEST_PHOTO,
    Dated,
    RecordNeed,
    RecordNeedKind,
    needs_of_records,
)
from triage.inbox.settlement import (
    Settlement,
    coordinator_time,
    place_of_site,
    place_said,
    refuse_two_places,
    taken_offers,
    typed_place,
)
from triage.inbox.states import (
    MessageFacts,
    MessageState,
    not_settled_before,
    order_of,
    state_of,
)
