"""How long does it take to sell at a price?"""
