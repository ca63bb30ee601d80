"""The cautions that go wherever somebody is sent to a shore: reports, search sheets, replies.

Common practice at the waterside, written down by us; no single published source. Local rules
always come first.
"""

from __future__ import annotations

LOCAL_RULES_FIRST = (
    "Local rules, the landowner's and the reserve's word, and your own judgement on the day come "
    "before anything written here."
)

CAUTIONS = (
    "Never go alone; tell somebody where you are and when you will be back.",
    "Keep out of the water unless you know its depth and bottom: mud, undercut banks and cold "
    "shock are real, and a river can rise within minutes after rain or below a dam.",
    "Watch the weather: leave before lightning, and in heat take water, shade and a hat.",
    "Check for ticks afterwards; cover cuts, and wash hands before eating (water may carry "
    "germs or poisonous algae). Protect yourself from the sun.",
    "Ask the landowner's permission, and keep away from livestock and steep or crumbling banks.",
    "Reserves and protected species: taking anything, even a cast skin, may need a permit. "
    "Without one, look, photograph and leave it.",
    "Do not trample the reeds where dragonflies emerge in the morning, and never touch one whose "
    "wings still shine: they are not yet dry.",
    "Check, clean and dry boots and nets between waters, so that you carry no disease or plant "
    "from one to the next.",
    "Children need an adult beside them at the water's edge.",
)


def cautions() -> tuple[str, ...]:
    """All lines, in the order in which they should be read; the last defers to local rules."""
    return (*CAUTIONS, LOCAL_RULES_FIRST)
