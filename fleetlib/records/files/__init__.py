"""Files to tables of text."""
