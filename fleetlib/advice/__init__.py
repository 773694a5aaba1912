"""Advice: what the models mean for one piece, one style, one quarter."""
