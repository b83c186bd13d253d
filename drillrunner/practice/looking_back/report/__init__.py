"""A page to send to a coach: what stands in it, its charts, and the page itself."""
