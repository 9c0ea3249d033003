"""Stores: the only users of the tables; rows in, values of the engine out."""
