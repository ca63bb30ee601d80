"""Mail and photographs in; ranked sightings, matched breeding sites and standard data out."""

__version__ = "0.1.0"
