"""Long work outside the web process: arranging, in a worker that can be stopped at any moment."""
