"""What does it sell for, how sure is that, and why?"""
