"""Work at many inputs: on the cores of this machine or a cluster, and tell how far it has come."""
