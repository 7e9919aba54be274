"""What people read: messages as data, and the catalogue of their sentences."""
