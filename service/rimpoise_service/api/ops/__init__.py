"""Around every request: settings, security, limits, logs, metrics, traces, the compute lock."""
