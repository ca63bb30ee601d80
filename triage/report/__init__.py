"""Released records and statistics in, pages, plots and printed sheets for people out."""
