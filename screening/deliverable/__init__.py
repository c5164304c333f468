"""Laboratory files as texts: cells, the layout that says which column is which, rows of texts."""
