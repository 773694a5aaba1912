"""What to pay for a find, and which finds to take?"""
