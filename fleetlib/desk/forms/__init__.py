"""The notebook forms."""
