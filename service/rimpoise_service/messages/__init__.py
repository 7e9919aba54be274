"""What is said to a person: messages as data, and the catalogue of sentences that puts them in words."""
