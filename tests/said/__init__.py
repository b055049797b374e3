"""What lessons, guides and README say in numbers, each with a table of what it is worked out from."""
