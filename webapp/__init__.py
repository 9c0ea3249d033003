"""The web application: pages, calls for programs, drawings and print around the layout engine."""
