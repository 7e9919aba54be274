"""JSON ⇄ frozen dataclasses: the only place that knows JSON names, and the only one that rounds."""
