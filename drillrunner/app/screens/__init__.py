"""One module a screen; each is imported by the action that opens it."""
