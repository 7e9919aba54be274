"""The command line: one wheel, a table of wheels, an invoice."""
