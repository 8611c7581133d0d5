"""The ways in: HTTP, command line, page, and the casebook that keeps cases."""
