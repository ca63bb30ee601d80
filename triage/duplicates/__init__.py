"""Group photos into copies and bursts, with the evidence for each."""

from triage.duplicates.fingerprints import PixelKeys, fingerprint_of, pixel_keys
from triage.duplicates.groups import burst_groups, copy_groups
from triage.duplicates.links import find_links
from triage.duplicates.records import BurstGroup, CopyGroup, Fingerprint, PhotoLink
