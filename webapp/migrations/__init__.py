"""Steps from each version of the database to the next."""
