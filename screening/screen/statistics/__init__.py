"""Statistics that a rule may allow beside the comparison of each sample: estimates, limits, tests, trends, exact rules."""
