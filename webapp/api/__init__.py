"""The calls for programs, as the project document's contract lists them."""
