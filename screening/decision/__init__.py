"""One answer kept for ever: recommendation, runs, their comparison and explanation."""
