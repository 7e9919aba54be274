"""What readings say beyond a plan: check spins, machine checks, trial runs, run-out, tyre rotation, spreads."""
