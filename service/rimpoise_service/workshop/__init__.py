"""What the workshop counts and charges: invoice, pick list, demand for stock."""
