"""What every room stands on: refusals, money, settings, quarters, saving."""
