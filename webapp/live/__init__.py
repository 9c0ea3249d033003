"""The layout while it is worked on: drag verdicts over a WebSocket, drops, offers."""
