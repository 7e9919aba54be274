"""The operations, one file a subject: each loads its request, calls one function and answers."""
