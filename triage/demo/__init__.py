"""The invented Linnet Water Survey: its photos, mail, tables and the truth about them."""
