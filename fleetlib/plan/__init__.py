"""What to ask, when to come down, which offer to take?"""
