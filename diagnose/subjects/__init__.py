"""The sums for a person with a question."""
