"""Tables of the database; only `webapp.stores` reads and writes them."""
