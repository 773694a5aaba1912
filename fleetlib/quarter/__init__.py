"""How did the quarter go?"""
