"""From bytes to a value and back: strict JSON, media types, lines, problems, the endpoint itself."""
