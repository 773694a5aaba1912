"""What the person wrote down, read once."""
