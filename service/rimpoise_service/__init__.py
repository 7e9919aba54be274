"""rimpoise, the service: from a wheel's measured imbalance to the weights to fit.

Layers, each importing only those below it: ``web`` → ``shop`` → ``fitting`` → ``physics``.
"""

__version__ = "0.1.0"
