"""Which finish pays for this piece?"""
