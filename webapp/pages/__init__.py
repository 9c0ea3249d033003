"""Pages: one file a page, each with a `router`."""
