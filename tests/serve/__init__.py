"""The server for phones."""
