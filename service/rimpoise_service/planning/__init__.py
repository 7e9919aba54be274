"""Choosing what to fit: stock, places, styles, pieces, the plan and its independent check."""
