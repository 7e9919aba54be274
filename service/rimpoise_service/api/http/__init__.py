"""Between bytes and values: strict JSON, media types, lines, problems, endpoints."""
