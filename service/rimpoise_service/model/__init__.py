"""The nouns of a request that every layer above shares: the wheel, the stock, arcs of a circle."""
