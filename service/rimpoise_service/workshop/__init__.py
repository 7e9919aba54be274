"""What the workshop counts, charges and releases: invoice, pick list, demand for stock, the vehicle."""
