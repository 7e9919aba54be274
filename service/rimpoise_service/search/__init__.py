"""The exact search for weights in one place: blocks of weights that touch, closed forms, branch and bound."""
