"""What a row must fulfil before it may take part in a decision."""
