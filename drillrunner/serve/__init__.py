"""The app for phones: a small server, a page, and one app for each phone."""
