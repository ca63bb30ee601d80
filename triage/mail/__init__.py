"""Read mail and loose files into messages whose every part is accounted for."""
