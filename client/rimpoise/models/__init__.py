"""What the client asks with and what it gets back: frozen dataclasses, one file a noun."""
