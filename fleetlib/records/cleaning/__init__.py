"""Tables of text to clean flips."""
