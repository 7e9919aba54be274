"""Worked requests for the document, invented or with their source; a test holds that each is answered 200."""
