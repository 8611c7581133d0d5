"""The hook-up check before the first arc."""
