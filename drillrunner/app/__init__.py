"""The app at the bay: Textual screens over the catalogue and the store. Imports nothing eagerly."""
