"""Nothing in, the invented Linnet Water Survey out: photos, mail, tables and their truth."""
