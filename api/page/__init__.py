"""The page: the third way in, for a shop tablet. Plain HTML, no scripts, no state on the server."""
