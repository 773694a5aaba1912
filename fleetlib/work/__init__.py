"""What a piece takes: hours, materials, its share of the supplies."""
