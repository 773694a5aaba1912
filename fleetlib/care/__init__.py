"""What to mind with an old piece?"""
