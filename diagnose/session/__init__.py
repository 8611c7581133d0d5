"""The guided session: one step at a time, from a case and its history."""
