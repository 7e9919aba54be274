"""What readings say beyond a plan: failed check spins, machine checks, trial runs, run-out, tyre rotation."""
