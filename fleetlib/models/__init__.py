"""Models: what the records say about price, time to sell, markdowns and hours."""
