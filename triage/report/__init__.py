"""Pages, plots and printed sheets for people, from released records and statistics."""
