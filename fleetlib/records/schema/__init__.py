"""What a record holds: its columns, what is derived from them, and the open table schema of both."""
