"""fleetlib: asking prices, markdown plans and pay per hour from your own past sales."""
