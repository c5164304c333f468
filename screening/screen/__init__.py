"""Results held against levels: bounds, chosen values, outcomes."""
