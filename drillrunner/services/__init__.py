"""Practice and the store together: what is played is written, and looked back on."""
