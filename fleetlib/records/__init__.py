"""Records: what the person wrote down, read without losing or guessing anything."""
