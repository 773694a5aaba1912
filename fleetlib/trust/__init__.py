"""How good have the prices been?"""
