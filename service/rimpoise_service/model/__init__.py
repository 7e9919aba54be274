"""The nouns of a request that every layer above shares: wheel, stock, reading, the balancer's own words."""
