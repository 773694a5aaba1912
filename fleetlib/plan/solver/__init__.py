"""The best path of asks in a market; numbers only."""
