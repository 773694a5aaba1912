"""Events and saved advice: read, laid over, appended."""
