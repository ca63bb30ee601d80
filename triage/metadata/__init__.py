"""Make claims of time and place from photo files and message texts."""
