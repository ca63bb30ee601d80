"""Our words in, the terms of the published standards out, and back."""
