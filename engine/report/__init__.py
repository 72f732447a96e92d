"""Reports of a session: one page for the client, and the full one for the file."""
