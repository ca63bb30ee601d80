"""Records in, rows out, and back: the only package that holds SQL."""
