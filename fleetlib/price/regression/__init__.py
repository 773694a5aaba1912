"""The regression behind the prices; knows numbers and factors, not furniture."""
