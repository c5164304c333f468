"""Which results can carry a decision: the chosen value of several analyses, and the review of their quality."""
