"""Documents, or parts of them, that are written from the code: `uv run python -m server.documents`."""
