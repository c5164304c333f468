"""The site file: tanks, locations, conditions and screening choices of one property."""
