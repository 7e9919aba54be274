"""rimpoise, the service: from a wheel's measured imbalance to the weights to fit.

Layers, each importing only those below it: ``api`` → ``workshop`` → ``diagnosis``, ``drawing`` → ``planning`` →
``search`` → ``model`` → ``physics``, ``messages``.
"""

__version__ = "1.0.0"
