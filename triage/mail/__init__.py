"""Mail and loose files in, messages whose every part is accounted for out."""
