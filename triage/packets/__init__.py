"""What a packet for a determiner far away holds, and when an answer from it may be recorded."""

from triage.packets.answers import Asked, Now, conflict
from triage.packets.contents import Packet, Picture, Shown
from triage.packets.fitting import jpeg_within, shown_part
from triage.packets.keys import identifier_of, is_key, key_of, read_key
