"""Photo files and message texts in, claims of time and place out."""
