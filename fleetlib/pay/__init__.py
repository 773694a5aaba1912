"""What do the hours earn, and what to work on next?"""
