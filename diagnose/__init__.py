"""Pure reasoning: a case in, a diagnosis out. No clock, no files, no network, no global state."""
